-- Of each given tree and size: when its newest measurement was made, and whether a person made it (no file did).
SELECT t.id, d.measured_on - DATE '0001-01-01' + 1, d.mine, h.measured_on - DATE '0001-01-01' + 1, h.mine,
  c.measured_on - DATE '0001-01-01' + 1, c.mine, k.height_low_m, k.height_high_m
FROM unnest(%(trees)s::bigint[]) AS t (id)
LEFT JOIN LATERAL (
  SELECT m.measured_on, m.intake_load_id IS NULL AS mine FROM measurement m
  WHERE m.tree_id = t.id AND (m.dbh_cm IS NOT NULL OR m.dbh_low_cm IS NOT NULL)
  ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
) d ON true
LEFT JOIN LATERAL (
  SELECT m.measured_on, m.intake_load_id IS NULL AS mine FROM measurement m
  WHERE m.tree_id = t.id AND (m.height_m IS NOT NULL OR m.height_low_m IS NOT NULL)
  ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
) h ON true
LEFT JOIN LATERAL (
  SELECT m.measured_on, m.intake_load_id IS NULL AS mine FROM measurement m
  WHERE m.tree_id = t.id AND m.crown_m IS NOT NULL
  ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
) c ON true
LEFT JOIN LATERAL (
  SELECT m.height_low_m, m.height_high_m FROM measurement m
  WHERE m.tree_id = t.id AND m.height_low_m IS NOT NULL
  ORDER BY m.measured_on DESC, m.id DESC LIMIT 1
) k ON true
