-- The sites of the given trees, where nothing stands on them any more.
UPDATE site s SET state = 'vacant'
WHERE s.id IN (SELECT t.site_id FROM tree t WHERE t.id = ANY(%(trees)s)) AND s.state = 'planted'
  AND NOT EXISTS (SELECT 1 FROM tree t WHERE t.site_id = s.id AND t.state IN ('alive', 'dead'))
