-- One row a standing tree, as methods.priority.TREE. `chosen(column)` is replaced by the condition on the ids.
--   looked: the newest real look at the whole tree (neither a drive-by nor a bare emergency note).
--   A rating counts until a newer inspection with ratings; signs and targets count until a newer real look.
WITH seen AS (
  SELECT i.tree_id,
    max(i.inspected_on) AS last_seen,
    max(i.inspected_on) FILTER (WHERE i.frame_years IS NOT NULL) AS last_rated,
    max(i.inspected_at) FILTER (WHERE i.frame_years IS NOT NULL) AS rated_at,
    max(i.inspected_at) FILTER (
      WHERE i.frame_years IS NOT NULL OR (i.level <> 'limited_visual' AND i.emergency = '')
    ) AS looked_at,
    bool_or(i.emergency <> '') AS emergency
  FROM inspection i WHERE chosen(i.tree_id) GROUP BY i.tree_id
), grown AS MATERIALIZED (
  -- The newest result of each decayed part that was measured inside.
  SELECT * FROM (
    SELECT DISTINCT ON (g.inspection_id, g.section_id, g.finding_id)
      i.tree_id, i.inspected_at, i.uid, g.finding_id, g.defect_id, g.part, g.height_m, g.banded, g.due_on
    FROM decay_growth g JOIN inspection i ON i.id = g.inspection_id
    WHERE chosen(i.tree_id)
    ORDER BY g.inspection_id, g.section_id, g.finding_id, g.id DESC
  ) AS newest WHERE banded
), growths AS (
  -- It stands until the same defect, or the stem near that height, is measured again.
  SELECT g.tree_id, min(g.due_on) AS due_on FROM grown g
  WHERE NOT EXISTS (
    SELECT FROM grown l
    WHERE l.tree_id = g.tree_id AND (l.inspected_at, l.uid) > (g.inspected_at, g.uid)
      AND (l.defect_id = g.defect_id
        OR l.part = g.part AND l.part = 'stem' AND abs(l.height_m - g.height_m) <= %(near_m)s)
  )
  GROUP BY g.tree_id
), signs AS (
  -- A defect whose wall was measured and keeps its thickness is no mere outside sign any more.
  SELECT DISTINCT i.tree_id
  FROM inspection i JOIN seen s ON s.tree_id = i.tree_id JOIN finding f ON f.inspection_id = i.id
  WHERE chosen(i.tree_id) AND f.kind = ANY(%(signs)s)
    AND i.inspected_at >= coalesce(s.looked_at, '-infinity')
    AND NOT EXISTS (SELECT FROM grown g WHERE g.finding_id = f.id AND g.due_on IS NULL)
), targets AS (
  SELECT i.tree_id, max(array_position(%(occupancy)s::text[], g.occupancy)) AS occupancy
  FROM inspection i JOIN seen s ON s.tree_id = i.tree_id JOIN target g ON g.inspection_id = i.id
  WHERE chosen(i.tree_id) AND i.inspected_at >= coalesce(s.rated_at, s.looked_at, '-infinity')
  GROUP BY i.tree_id
), emergencies AS (
  SELECT i.tree_id, min(i.inspected_on) AS act_due
  FROM inspection i JOIN seen s ON s.tree_id = i.tree_id
  WHERE chosen(i.tree_id) AND s.emergency AND i.emergency <> ''
    AND i.inspected_at >= coalesce(s.rated_at, '-infinity')
  GROUP BY i.tree_id
), decided AS (
  -- What is decided to be done is due until work is reported; an accepted risk is that of the newest rating only.
  SELECT d.tree_id,
    CASE WHEN NOT EXISTS (
      SELECT FROM required_check k
      WHERE k.tree_id = d.tree_id AND k.source = 'order' AND k.asked_on >= d.decided_on
    ) THEN d.act_by END AS act_due,
    CASE WHEN d.accepted_risk <> '' AND i.inspected_at >= coalesce(s.rated_at, '-infinity')
      THEN d.ends_on END AS accepted_until
  FROM decision d JOIN inspection i ON i.id = d.inspection_id LEFT JOIN seen s ON s.tree_id = d.tree_id
  WHERE chosen(d.tree_id) AND NOT EXISTS (SELECT FROM decision n WHERE n.supersedes_id = d.id)
), checks AS (
  SELECT c.tree_id, min(c.due_on) AS due_on FROM required_check c
  WHERE chosen(c.tree_id) AND c.closed_on IS NULL GROUP BY c.tree_id
)
SELECT t.id,
  coalesce(t.planted_from - DATE '1970-01-01', (%(none)s)::int),
  coalesce(t.dbh_cm, t.dbh_high_cm, t.dbh_low_cm, 'NaN')::real,
  coalesce(
    g.occupancy,
    array_position(%(occupancy)s::text[], p.occupancy), array_position(%(occupancy)s::text[], z.occupancy), 0
  )::smallint,
  coalesce(s.last_seen - DATE '1970-01-01', (%(none)s)::int),
  coalesce(s.last_rated - DATE '1970-01-01', (%(none)s)::int),
  (d.tree_id IS NOT NULL)::int::smallint,
  coalesce(c.due_on - DATE '1970-01-01', (%(none)s)::int),
  coalesce(least(e.act_due, a.act_due) - DATE '1970-01-01', (%(none)s)::int),
  coalesce(w.due_on - DATE '1970-01-01', (%(none)s)::int),
  coalesce(a.accepted_until - DATE '1970-01-01', (%(none)s)::int)
FROM tree t
LEFT JOIN site p ON p.id = t.site_id
LEFT JOIN zone z ON z.id = t.zone_id
LEFT JOIN seen s ON s.tree_id = t.id
LEFT JOIN signs d ON d.tree_id = t.id
LEFT JOIN targets g ON g.tree_id = t.id
LEFT JOIN emergencies e ON e.tree_id = t.id
LEFT JOIN checks c ON c.tree_id = t.id
LEFT JOIN growths w ON w.tree_id = t.id
LEFT JOIN decided a ON a.tree_id = t.id
WHERE chosen(t.id) AND t.state = ANY(%(standing)s)
