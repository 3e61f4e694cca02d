-- The due list in the order of methods.due.sort_key: class, half decade of harm, the earlier date, harm, tree.
-- The days overdue are today less that date, so its order is theirs. {where} and {after} are conditions of ours.
SELECT d.*, t.uid, t.tag, t.species_text, t.dbh_cm, t.state, ST_X(t.location) AS lon, ST_Y(t.location) AS lat,
  s.botanical_name, s.common_en, p.street, p.house_number, p.place AS site_place, z.code AS zone, z.name AS zone_name,
  EXISTS (
    SELECT FROM required_check c
    WHERE c.tree_id = d.tree_id AND c.closed_on IS NULL AND c.kind = 'after_work'
  ) AS work_done
FROM (
  SELECT q.* FROM (
    SELECT p.*, least(p.act_by, p.inspect_by) AS due,
      coalesce(least(p.act_by, p.inspect_by) - DATE '1970-01-01', 2147483647) AS due_key,
      CASE WHEN p.harm > 0 THEN round(2 * log(p.harm))::int ELSE -99 END AS half_decade
    FROM priority p
  ) q
  WHERE {where} AND {after}
  ORDER BY -risk, -half_decade, due_key, -harm, tree_id
  LIMIT %(limit)s
) d
JOIN tree t ON t.id = d.tree_id
LEFT JOIN species s ON s.id = t.species_id
LEFT JOIN site p ON p.id = t.site_id
LEFT JOIN zone z ON z.id = t.zone_id
ORDER BY -d.risk, -d.half_decade, d.due_key, -d.harm, d.tree_id
