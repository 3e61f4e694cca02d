-- Of each finding the one that its chain began with.
WITH RECURSIVE back AS (
  SELECT f.id AS start, f.id, f.continues_id FROM finding f WHERE f.id = ANY(%(ids)s)
  UNION ALL
  SELECT b.start, f.id, f.continues_id FROM back b JOIN finding f ON f.id = b.continues_id
)
SELECT start, id FROM back WHERE continues_id IS NULL
