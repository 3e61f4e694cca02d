-- Every vacant site of the inventory on which no stump is recorded that came with it, in the order of its key.
SELECT s.id, s.external_key, ST_X(s.location), ST_Y(s.location), s.version, s.intake_load_id,
  s.street, s.house_number, s.place, s.growing_space, s.strip_width_m
FROM site s
WHERE s.state = 'vacant'
  AND NOT EXISTS (SELECT 1 FROM tree t WHERE t.site_id = s.id AND t.state IN ('alive', 'dead', 'stump'))
ORDER BY s.id
