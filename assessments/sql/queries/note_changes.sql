-- Only a change of class or of a date is noted; the first row of a tree only where it is rated.
INSERT INTO priority_change
  (tree_id, risk_before, risk, act_by_before, act_by, inspect_by_before, inspect_by)
SELECT r.tree_id, p.risk, r.risk, p.act_by, r.act_by, p.inspect_by, r.inspect_by
FROM restated_rows r LEFT JOIN priority p ON p.tree_id = r.tree_id AND chosen(p.tree_id)
WHERE CASE WHEN p.tree_id IS NULL THEN r.risk > 0
  ELSE (p.risk, p.act_by, p.inspect_by) IS DISTINCT FROM (r.risk, r.act_by, r.inspect_by) END
