-- Each look with ratings as methods/outcomes.RATED: the worst likelihood of failure that was decided, in the order in
-- which they were made, for of several on one day the last stands. Days are counted as date.toordinal() does.
SELECT i.tree_id, (i.inspected_on - DATE '0001-01-01') + 1,
  max(array_position(%(failure)s::text[], r.failure))::smallint, coalesce(t.zone_id, 0)::integer
FROM inspection i
JOIN rating r ON r.inspection_id = i.id
JOIN tree t ON t.id = i.tree_id
WHERE i.inspected_on <= %(until)s
GROUP BY i.id, t.zone_id
ORDER BY i.tree_id, i.inspected_at, i.uid
