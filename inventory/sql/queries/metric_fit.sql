-- How many times its true length (on the ellipsoid) a kilometre north and east of a point is in the metric system.
SELECT
  ST_Distance(ST_Transform(p.here, %(srid)s), ST_Transform(p.north, %(srid)s))
    / ST_Distance(p.here::geography, p.north::geography),
  ST_Distance(ST_Transform(p.here, %(srid)s), ST_Transform(p.east, %(srid)s))
    / ST_Distance(p.here::geography, p.east::geography)
FROM (
  SELECT
    ST_SetSRID(ST_MakePoint(%(lon)s, %(lat)s), 4326) AS here,
    ST_SetSRID(ST_MakePoint(%(lon)s, %(lat)s + 0.009), 4326) AS north,
    ST_SetSRID(ST_MakePoint(%(lon)s + 0.009, %(lat)s), 4326) AS east
) AS p
