-- The zone of each given tree: the smallest zone that holds it (NULL outside all).
UPDATE tree SET zone_id = found.zone_id
FROM (
  SELECT t.id, (
    SELECT z.id FROM zone z WHERE ST_Intersects(z.area, t.location) ORDER BY ST_Area(z.area), z.id LIMIT 1
  ) AS zone_id
  FROM tree t WHERE t.id = ANY(%(trees)s)
) AS found
WHERE tree.id = found.id AND tree.zone_id IS DISTINCT FROM found.zone_id
