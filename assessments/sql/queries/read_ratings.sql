-- The ratings of each tree's newest inspection that has any, as methods.priority.RATING. In a fixed order, for the
-- sum of their harm must not depend on how they are read.
SELECT i.tree_id,
  array_position(%(failure)s::text[], r.failure)::smallint,
  array_position(%(impact)s::text[], r.impact)::smallint,
  array_position(%(consequences)s::text[], r.consequences)::smallint,
  i.frame_years,
  (g.kind = ANY(%(people)s))::int::smallint,
  array_position(%(occupancy)s::text[], g.occupancy)::smallint
FROM (
  SELECT DISTINCT ON (i.tree_id) i.tree_id, i.id, i.frame_years
  FROM inspection i
  WHERE chosen(i.tree_id) AND i.frame_years IS NOT NULL
  ORDER BY i.tree_id, i.inspected_at DESC, i.uid DESC
) i
JOIN rating r ON r.inspection_id = i.id
JOIN target g ON g.id = r.target_id
ORDER BY i.tree_id, r.id
