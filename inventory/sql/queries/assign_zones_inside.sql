-- The zone of everything inside an area (EWKB, hexadecimal): the smallest zone that holds it (NULL outside all).
UPDATE {table} SET zone_id = found.zone_id
FROM (
  SELECT p.id, (
    SELECT z.id FROM zone z WHERE ST_Intersects(z.area, p.location) ORDER BY ST_Area(z.area), z.id LIMIT 1
  ) AS zone_id
  FROM {table} p WHERE ST_Intersects(p.location, %(area)s::geometry)
) AS found
WHERE {table}.id = found.id AND {table}.zone_id IS DISTINCT FROM found.zone_id
