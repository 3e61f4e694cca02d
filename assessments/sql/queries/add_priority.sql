-- The first row of each tree that has none; where another wrote it meanwhile, ours is of the later snapshot.
INSERT INTO priority (
  tree_id, risk, harm, act_by, inspect_by, by_interval, by_decay, by_establishment, by_check, by_decay_growth, rule,
  unseen_weight, last_seen, planted, policy_version, method_version
)
SELECT r.*, %(policy)s, %(method)s FROM restated_rows r
WHERE NOT EXISTS (SELECT FROM priority p WHERE p.tree_id = r.tree_id AND chosen(p.tree_id))
ON CONFLICT (tree_id) DO UPDATE SET
  risk = excluded.risk, harm = excluded.harm, act_by = excluded.act_by, inspect_by = excluded.inspect_by,
  by_interval = excluded.by_interval, by_decay = excluded.by_decay,
  by_establishment = excluded.by_establishment, by_check = excluded.by_check,
  by_decay_growth = excluded.by_decay_growth, rule = excluded.rule,
  last_seen = excluded.last_seen, planted = excluded.planted, unseen_weight = excluded.unseen_weight,
  policy_version = excluded.policy_version, method_version = excluded.method_version
