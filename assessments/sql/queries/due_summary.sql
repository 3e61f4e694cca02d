-- One reading of the priorities: how many of each class, how many overdue or due soon, how many unseen.
SELECT
  count(*) AS trees,
  count(*) FILTER (WHERE risk = 0) AS never_rated,
  count(*) FILTER (WHERE risk = 1) AS low,
  count(*) FILTER (WHERE risk = 2) AS moderate,
  count(*) FILTER (WHERE risk = 3) AS high,
  count(*) FILTER (WHERE risk = 4) AS extreme,
  count(*) FILTER (WHERE act_by < %(today)s AND tree_id <> ALL(w.done)) AS act_overdue,
  count(*) FILTER (WHERE act_by BETWEEN %(today)s AND %(soon)s AND tree_id <> ALL(w.done)) AS act_soon,
  count(*) FILTER (WHERE inspect_by < %(today)s) AS inspect_overdue,
  count(*) FILTER (WHERE inspect_by BETWEEN %(today)s AND %(soon)s) AS inspect_soon,
  count(*) FILTER (WHERE risk = 0 OR inspect_by < %(today)s) AS unseen
FROM priority, (
  SELECT coalesce(array_agg(c.tree_id), '{}') AS done FROM required_check c
  WHERE c.closed_on IS NULL AND c.kind = 'after_work'
) w
