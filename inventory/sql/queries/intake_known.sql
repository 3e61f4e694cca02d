-- What the inventory holds under the given keys of a city: trees, and vacant sites that have a key of their own.
SELECT t.external_key, ST_X(t.location), ST_Y(t.location), t.species_text, t.state,
  t.dbh_cm, t.dbh_low_cm, t.dbh_high_cm, t.height_m, t.crown_m,
  t.planted_from, t.planted_to, coalesce(s.street, ''), coalesce(s.house_number, ''), coalesce(s.place, '')
FROM tree t LEFT JOIN site s ON s.id = t.site_id
WHERE t.external_key = ANY(%(keys)s)
UNION ALL
SELECT s.external_key, ST_X(s.location), ST_Y(s.location), '', s.state, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
  s.street, s.house_number, s.place
FROM site s
WHERE s.external_key = ANY(%(keys)s)
