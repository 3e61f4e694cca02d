-- Positions go on from the last one, in order of id, for every event committed by now.
WITH last AS (SELECT coalesce(max(position), 0) AS position FROM event),
fresh AS (
  SELECT id, row_number() OVER (ORDER BY id) AS place FROM event WHERE position IS NULL
)
UPDATE event SET position = last.position + fresh.place
FROM fresh, last
WHERE event.id = fresh.id
