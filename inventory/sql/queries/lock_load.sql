-- Lock the rows that a load brought in, and those that a merge's act updated; the names of the tables are the caller's.
SELECT count(*)
FROM (
  SELECT t.id FROM table_name t
  WHERE t.intake_load_id = %(load)s OR t.id IN (
    SELECT p.pgh_obj_id FROM past_table p WHERE p.pgh_context_id = %(act)s::uuid AND p.pgh_label = 'update'
  )
  ORDER BY t.id FOR UPDATE
) held
