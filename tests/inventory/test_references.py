"""What points to a tree or a site is found by an index: each deletion asks every such table, one tree at a time."""

import pytest
from django.db import connection

pytestmark = pytest.mark.django_db

UNINDEXED = """
SELECT c.conrelid::regclass::text, a.attname
FROM pg_constraint c JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
WHERE c.contype = 'f' AND c.confrelid IN ('tree'::regclass, 'site'::regclass)
  AND NOT EXISTS (SELECT FROM pg_index i WHERE i.indrelid = c.conrelid AND i.indkey[0] = c.conkey[1])
"""


def test_every_reference_to_a_tree_or_a_site_has_an_index() -> None:
    with connection.cursor() as cursor:
        cursor.execute(UNINDEXED)
        assert cursor.fetchall() == []
