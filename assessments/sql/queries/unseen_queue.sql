-- Trees never rated or past their inspection date, by methods.due.queue_place: weight x days since last seen.
SELECT d.*, t.uid, t.tag, t.species_text, t.dbh_cm, t.state, ST_X(t.location) AS lon, ST_Y(t.location) AS lat,
  s.botanical_name, s.common_en, p.street, p.house_number, p.place AS site_place, z.code AS zone, z.name AS zone_name
FROM (
  SELECT q.*, false AS work_done FROM (
    SELECT p.*, least(p.act_by, p.inspect_by) AS due,
      p.unseen_weight * greatest(
        %(today)s - coalesce(p.last_seen, greatest(p.planted, %(today)s - %(never_days)s)), 0
      ) AS place
    FROM priority p
    WHERE p.risk = 0 OR p.inspect_by < %(today)s
  ) q
  WHERE {where} AND {after}
  ORDER BY -place, tree_id
  LIMIT %(limit)s
) d
JOIN tree t ON t.id = d.tree_id
LEFT JOIN species s ON s.id = t.species_id
LEFT JOIN site p ON p.id = t.site_id
LEFT JOIN zone z ON z.id = t.zone_id
ORDER BY -d.place, d.tree_id
