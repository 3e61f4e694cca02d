-- Writes what differs. `%(always)s`: write what does not differ too, so that a pass that read before us must retry.
UPDATE priority p SET
  risk = r.risk, harm = r.harm, act_by = r.act_by, inspect_by = r.inspect_by, by_interval = r.by_interval,
  by_decay = r.by_decay, by_establishment = r.by_establishment, by_check = r.by_check,
  by_decay_growth = r.by_decay_growth, rule = r.rule,
  last_seen = r.last_seen, planted = r.planted, unseen_weight = r.unseen_weight,
  policy_version = %(policy)s, method_version = %(method)s
FROM restated_rows r
WHERE p.tree_id = r.tree_id AND chosen(p.tree_id) AND (%(always)s OR (
  p.risk, p.harm, p.act_by, p.inspect_by, p.by_interval, p.by_decay, p.by_establishment, p.by_check,
  p.by_decay_growth, p.rule, p.last_seen, p.planted, p.unseen_weight, p.policy_version, p.method_version
) IS DISTINCT FROM (
  r.risk, r.harm, r.act_by, r.inspect_by, r.by_interval, r.by_decay, r.by_establishment, r.by_check,
  r.by_decay_growth, r.rule, r.last_seen, r.planted, r.unseen_weight, %(policy)s, %(method)s
))
