-- A tree that no longer stands has no priority.
DELETE FROM priority p
WHERE chosen(p.tree_id) AND NOT EXISTS (SELECT FROM restated r WHERE r.tree_id = p.tree_id)
