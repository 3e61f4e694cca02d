-- Lock the given rows and count those that still have the given version; table_name is the caller's.
SELECT count(*)
FROM (SELECT t.id, t.version FROM table_name t WHERE t.id = ANY(%(ids)s) ORDER BY t.id FOR NO KEY UPDATE) held
JOIN unnest(%(ids)s::bigint[], %(versions)s::bigint[]) AS read (id, version) USING (id, version)
