-- The commonest species texts of the trees: how many trees, how many of them without a species, two of them.
SELECT species_text, count(*), count(*) FILTER (WHERE species_id IS NULL), min(id), max(id)
FROM tree
WHERE species_text <> ''
GROUP BY species_text
ORDER BY 2 DESC, 1
LIMIT %(most)s
