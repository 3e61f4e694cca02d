"""Inspections for the planted city, put straight into the tables: for benchmarks of what follows from them."""

from django.db import connection, transaction

# Of ten trees six were rated; every fourth of these was rated again, two of three since with a finding.
TABLES = ("inspection", "target", "finding", "rating", "required_check")


def inspect() -> None:
    """Rate a share of the trees. As the owner of the tables: the history triggers are off meanwhile."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for table in TABLES:
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        cursor.execute(_FIRST)
        cursor.execute(_AGAIN)
        cursor.execute(_PARTS)
        cursor.execute(_RATINGS)
        cursor.execute(_FINDINGS)
        cursor.execute(_CHECKS)
        for table in TABLES:
            cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")


_COLUMNS = "(uid, content_sha256, tree_id, inspected_at, inspected_on, level, trigger, frame_years)"
_FIRST = f"""
INSERT INTO inspection {_COLUMNS}
SELECT gen_random_uuid(), '', id, on_day + TIME '12:00', on_day, 'basic', 'routine', 3
FROM (SELECT id, DATE '2023-01-01' + (id * 7919 % 1000)::int AS on_day FROM tree WHERE id % 10 < 6) t
"""
_AGAIN = f"""
INSERT INTO inspection {_COLUMNS}
SELECT gen_random_uuid(), '', tree_id, inspected_at + INTERVAL '300 days', inspected_on + 300, 'basic', 'routine', 3
FROM inspection WHERE tree_id % 4 = 0
"""
_PARTS = """
INSERT INTO target (uid, inspection_id, kind, label, occupancy, exposure)
SELECT gen_random_uuid(), i.id, k.kind, 'beside the tree',
  CASE WHEN k.kind = 'building' THEN 'constant'
    ELSE (ARRAY['rare', 'occasional', 'frequent', 'constant'])[1 + i.id % 4] END, 'full'
FROM inspection i CROSS JOIN LATERAL (
  SELECT 'people' AS kind UNION ALL SELECT 'building' WHERE i.id % 3 = 0
) k
"""
_RATINGS = """
INSERT INTO rating (uid, inspection_id, target_id, part, failure, impact, consequences, why_different,
  failure_and_impact, risk, suggestion, method_version)
SELECT gen_random_uuid(), inspection_id, id, 'stem',
  (ARRAY['improbable', 'possible', 'possible', 'probable', 'improbable'])[1 + id % 5],
  (ARRAY['very_low', 'low', 'medium', 'high'])[1 + id % 4],
  (ARRAY['negligible', 'minor', 'significant', 'severe'])[1 + id / 3 % 4], '', 'unlikely', 'low', '{}', ''
FROM target
"""
_FINDINGS = """
INSERT INTO finding (uid, inspection_id, kind, part, measures)
SELECT gen_random_uuid(), id, (ARRAY['decay', 'lean', 'canker'])[1 + id % 3], 'stem', '{}'
FROM inspection WHERE id % 3 <> 0
"""
_CHECKS = """
INSERT INTO required_check (tree_id, kind, due_on, why, source, asked_on)
SELECT id, 'reinspect', DATE '2027-01-01' + (id % 300)::int, 'look again', 'assessor', DATE '2026-01-01'
FROM tree WHERE id % 20 = 7
"""
