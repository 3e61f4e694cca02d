-- The zone of each given point, in their order: the smallest zone that holds it (NULL outside all).
SELECT array_agg(found.zone_id ORDER BY g.place)
FROM unnest(%(lon)s::float8[], %(lat)s::float8[]) WITH ORDINALITY AS g (lon, lat, place)
CROSS JOIN LATERAL (
  SELECT (
    SELECT z.id FROM zone z
    WHERE ST_Intersects(z.area, ST_SetSRID(ST_MakePoint(g.lon, g.lat), 4326))
    ORDER BY ST_Area(z.area), z.id LIMIT 1
  ) AS zone_id
) AS found
