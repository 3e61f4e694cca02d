-- The size columns of each given tree repeat its newest measurement, dimension by dimension.
UPDATE tree SET
  dbh_cm = size.dbh_cm, dbh_low_cm = size.dbh_low_cm, dbh_high_cm = size.dbh_high_cm,
  height_m = size.height_m, crown_m = size.crown_m
FROM (
  SELECT t.id, d.dbh_cm, d.dbh_low_cm, d.dbh_high_cm, h.height_m, c.crown_m
  FROM tree t
  LEFT JOIN LATERAL (
    SELECT m.dbh_cm, m.dbh_low_cm, m.dbh_high_cm FROM measurement m
    WHERE m.tree_id = t.id AND (m.dbh_cm IS NOT NULL OR m.dbh_low_cm IS NOT NULL)
    ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
  ) d ON true
  LEFT JOIN LATERAL (
    SELECT m.height_m FROM measurement m
    WHERE m.tree_id = t.id AND m.height_m IS NOT NULL
    ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
  ) h ON true
  LEFT JOIN LATERAL (
    SELECT m.crown_m FROM measurement m
    WHERE m.tree_id = t.id AND m.crown_m IS NOT NULL
    ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
  ) c ON true
  WHERE t.id = ANY(%(trees)s)
) AS size
WHERE tree.id = size.id
  AND (tree.dbh_cm, tree.dbh_low_cm, tree.dbh_high_cm, tree.height_m, tree.crown_m)
    IS DISTINCT FROM (size.dbh_cm, size.dbh_low_cm, size.dbh_high_cm, size.height_m, size.crown_m)
