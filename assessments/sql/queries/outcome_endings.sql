-- What ended a tree's time at risk as methods/outcomes.ENDING, and where it is known from: 1 a recorded failure, 2 an
-- opened stem that says it failed in a storm, 0 anything else. Days are counted as date.toordinal() does.
SELECT e.tree_id, (e.day - DATE '0001-01-01') + 1, (array_position(%(endings)s::text[], e.kind) - 1)::smallint,
  coalesce(e.storm_id, 0)::integer, e.source::smallint
FROM (
  -- Of a failure between two days: in its storm, else half-way.
  SELECT f.tree_id,
    CASE WHEN s.id IS NULL THEN f.happened_from + (f.happened_to - f.happened_from) / 2
      ELSE greatest(f.happened_from, least(f.happened_to, s.began_on)) END AS day,
    'failure' AS kind, f.storm_id, 1 AS source
  FROM failure f LEFT JOIN storm s ON s.id = f.storm_id
  UNION ALL
  -- A stem opened because it failed in a storm, where nobody recorded the failure. The storm is the last one that had
  -- begun within the days before it was felled.
  SELECT * FROM (
    SELECT DISTINCT ON (d.tree_id) d.tree_id, coalesce(s.began_on, d.felled_on), 'failure', s.id, 2
    FROM dissection d LEFT JOIN LATERAL (
      SELECT s.id, s.began_on FROM storm s
      WHERE d.felled_on BETWEEN s.began_on AND s.ended_on + %(felled_within)s::integer
      ORDER BY s.began_on DESC, s.id DESC LIMIT 1
    ) s ON true
    WHERE d.reason = 'storm_failure' AND NOT EXISTS (SELECT FROM failure f WHERE f.tree_id = d.tree_id)
    ORDER BY d.tree_id, d.felled_on, d.id
  ) opened
  UNION ALL
  SELECT id, removed_on, 'removal', NULL, 0 FROM tree WHERE removed_on IS NOT NULL
  UNION ALL
  SELECT i.tree_id, (p.worked_at AT TIME ZONE %(time_zone)s)::date,
    CASE WHEN i.action = ANY(%(moving)s) THEN 'target_change' ELSE 'treatment' END, NULL, 0
  FROM item_report p JOIN order_item i ON i.id = p.item_id
  WHERE p.outcome = 'done' AND i.state <> 'not_done' AND i.action = ANY(%(ending_work)s)
  UNION ALL
  SELECT s.tree_id, d.day, 'treatment', NULL, 0
  FROM support s CROSS JOIN LATERAL (VALUES (s.installed_on), (s.removed_on)) d(day) WHERE d.day IS NOT NULL
) e
WHERE e.day <= %(until)s
