-- Every tree of the inventory with its site, as the merge compares it, in the order of its key.
SELECT t.id, t.external_key, ST_X(t.location), ST_Y(t.location), t.species_id, t.species_text, t.state,
  t.dbh_cm, t.dbh_low_cm, t.dbh_high_cm, t.height_m, t.crown_m,
  t.planted_from - DATE '0001-01-01' + 1, t.planted_to - DATE '0001-01-01' + 1, t.note, t.version, t.intake_load_id,
  t.site_id, s.version, coalesce(s.street, ''), coalesce(s.house_number, ''), coalesce(s.place, ''),
  coalesce(s.growing_space, ''), s.strip_width_m
FROM tree t LEFT JOIN site s ON s.id = t.site_id
ORDER BY t.id
