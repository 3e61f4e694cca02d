-- The standing trees within a distance of a planned project, nearest first: one page as JSON text, and the counts.
-- Distances in metres in the metric CRS, from the centre of the stem; the straight lines of the project are those of
-- RFC 7946 (straight in longitude and latitude), so they are cut short before they are projected. The project is
-- asked for in small pieces, so that the GiST index on tree.location_m gets small boxes also where a trench runs
-- slantwise through the city. Trees are sought as far as the protection radius is capped, so that a zone that the
-- works touch from beyond the distance asked is counted, not overlooked.
WITH project AS MATERIALIZED (
  SELECT shape, ST_Length(shape) AS length_m, ST_Area(shape) AS area_m2
  FROM (SELECT ST_Transform(ST_Segmentize(ST_GeomFromEWKB(%(shape)s), 0.001), %(srid)s) AS shape) AS given
),
piece AS MATERIALIZED (
  SELECT ST_Subdivide(shape, 8) AS shape FROM project
  WHERE length_m <= %(max_length_m)s AND area_m2 <= %(max_area_m2)s
),
found AS MATERIALIZED (
  SELECT tree.* FROM piece CROSS JOIN LATERAL (
    SELECT t.id, ST_Distance(t.location_m, piece.shape) AS distance_m, coalesce(t.dbh_cm, t.dbh_high_cm) AS stem_cm
    FROM tree t
    WHERE ST_DWithin(t.location_m, piece.shape, greatest(%(distance_m)s, %(cap_m)s)::float8)
      AND t.state IN ('alive', 'dead')
    OFFSET 0 -- so that each piece asks the index, and the planner does not walk the trees instead
  ) AS tree
),
measured AS MATERIALIZED (
  -- A size class enters with its upper end: the zone is rather too large than too small.
  SELECT id, min(distance_m) AS distance_m,
    CASE WHEN max(stem_cm) IS NOT NULL THEN least(%(per_diameter)s * max(stem_cm) / 100, %(cap_m)s) END AS radius_m
  FROM found GROUP BY id
),
near AS MATERIALIZED (SELECT * FROM measured WHERE distance_m <= %(distance_m)s),
page AS MATERIALIZED (
  SELECT * FROM near
  WHERE (distance_m, id) > (%(after_m)s, %(after_id)s)
  ORDER BY distance_m, id LIMIT %(limit)s
),
line AS (
  SELECT page.distance_m, page.id, t.location, json_build_object(
    'tree', t.uid, 'tag', t.tag, 'state', t.state,
    'species', coalesce(s.botanical_name, nullif(t.species_text, '')), 'common_name', s.common_en,
    'street', nullif(site.street, ''), 'house_number', nullif(site.house_number, ''),
    'dbh_cm', t.dbh_cm, 'dbh_low_cm', t.dbh_low_cm, 'dbh_high_cm', t.dbh_high_cm,
    'height_m', t.height_m, 'crown_m', t.crown_m,
    'risk', (%(risk_words)s::text[])[1 + coalesce(p.risk, 0)],
    'distance_m', round(page.distance_m::numeric, 2),
    'root_protection_radius_m', round(page.radius_m::numeric, 3),
    'radius_from',
      CASE WHEN t.dbh_cm IS NOT NULL THEN 'dbh' WHEN t.dbh_high_cm IS NOT NULL THEN 'upper_end_of_class' END,
    'zone_touched', page.distance_m <= page.radius_m
  ) AS properties
  FROM page JOIN tree t ON t.id = page.id
  LEFT JOIN species s ON s.id = t.species_id
  LEFT JOIN site ON site.id = t.site_id
  LEFT JOIN priority p ON p.tree_id = t.id
)
SELECT
  project.length_m, project.area_m2,
  (SELECT count(*) FROM near) AS total,
  (SELECT count(*) FROM near WHERE distance_m <= radius_m) AS touched,
  (SELECT count(*) FROM near WHERE radius_m IS NULL) AS unmeasured,
  (SELECT count(*) FROM measured WHERE distance_m > %(distance_m)s AND distance_m <= radius_m) AS touched_beyond,
  (SELECT coalesce(json_agg(
    CASE WHEN %(geojson)s THEN json_build_object(
      'type', 'Feature', 'id', properties->>'tree',
      'geometry', ST_AsGeoJSON(location, 7)::json, 'properties', properties)
    ELSE properties END ORDER BY distance_m, id), '[]')::text FROM line) AS rows,
  (SELECT json_build_array(final.distance_m, final.id)::text
    FROM (SELECT distance_m, id FROM page ORDER BY distance_m DESC, id DESC LIMIT 1) AS final
    WHERE EXISTS (SELECT FROM near WHERE (near.distance_m, near.id) > (final.distance_m, final.id))) AS last,
  -- Only where nothing was found: a project far from every tree is rather a wrong coordinate than a treeless street.
  CASE WHEN NOT EXISTS (SELECT FROM measured) THEN (
    SELECT ST_Distance(t.location_m, project.shape) FROM tree t
    ORDER BY t.location_m <-> (SELECT ST_Centroid(shape) FROM project) LIMIT 1
  ) END AS nearest_m
FROM project
