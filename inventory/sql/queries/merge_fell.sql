-- The given trees as gone: on the given day, or the day of their planting where that is later.
UPDATE tree SET state = %(state)s, removed_on = greatest(%(day)s::date, planted_from), removal_reason = %(reason)s
WHERE id = ANY(%(trees)s)
