-- How many of the rows that an act updated were written again by another act, but for merges undone again; past_table is put in by the caller.
SELECT count(*)
FROM (SELECT pgh_obj_id, max(pgh_id) AS last FROM past_table
      WHERE pgh_context_id = %(act)s AND pgh_label = 'update' GROUP BY pgh_obj_id) mine
WHERE EXISTS (SELECT 1 FROM past_table p WHERE p.pgh_obj_id = mine.pgh_obj_id AND p.pgh_id > mine.last
              AND p.pgh_context_id <> ALL(%(undone)s::uuid[]))
