-- How many rows of a load were changed since by anything but merges that were undone again; table_name is the caller's.
SELECT count(*) FROM table_name t
WHERE t.intake_load_id = %(load)s AND t.version > 1 AND EXISTS (
  SELECT 1 FROM table_name_past p
  WHERE p.pgh_obj_id = t.id AND p.pgh_label = 'update' AND p.pgh_context_id <> ALL(%(undone)s::uuid[])
)
