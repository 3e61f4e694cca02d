-- The staged sites as the file has them. A site moves with its tree where it lay on it, or would lie too far off it.
UPDATE site s SET
  external_key = CASE WHEN m.set_key THEN m.external_key ELSE s.external_key END,
  location = CASE WHEN p.moves THEN p.point ELSE s.location END,
  zone_id = CASE WHEN p.moves THEN m.zone_id ELSE s.zone_id END,
  street = CASE WHEN m.set_street THEN m.street ELSE s.street END,
  house_number = CASE WHEN m.set_number THEN m.house_number ELSE s.house_number END,
  place = CASE WHEN m.set_where THEN m.place ELSE s.place END,
  growing_space = CASE WHEN m.set_space THEN m.growing_space ELSE s.growing_space END,
  strip_width_m = CASE WHEN m.set_strip THEN m.strip_width_m ELSE s.strip_width_m END
FROM merge_site m
JOIN site old ON old.id = m.id
CROSS JOIN LATERAL (
  SELECT ST_SetSRID(ST_MakePoint(m.lon, m.lat), 4326) AS point,
    m.set_place AND (
      old.location = ST_SetSRID(ST_MakePoint(m.was_lon, m.was_lat), 4326)
      OR ST_DistanceSphere(old.location, ST_SetSRID(ST_MakePoint(m.lon, m.lat), 4326)) > 50
    ) AS moves
) p
WHERE s.id = m.id
  AND (p.moves OR m.set_key OR m.set_street OR m.set_number OR m.set_where OR m.set_space OR m.set_strip);
TRUNCATE merge_site
