"""Rows to and from binary COPY: what goes in comes out, and what does not fit is refused."""

import numpy as np
import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments import binary

pytestmark = pytest.mark.django_db
ROW = np.dtype([("big", "i8"), ("day", "i4"), ("code", "u1"), ("size", "f4")])
values = st.tuples(
    st.integers(-(2**63), 2**63 - 1),
    st.integers(-(2**31), 2**31 - 1),
    st.integers(0, 255),
    st.floats(width=32, allow_nan=False),
)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(values, max_size=20))
def test_what_is_written_is_read_back(rows: list[tuple[int, int, int, float]]) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE IF EXISTS pg_temp.some_rows")
        cursor.execute("CREATE TEMP TABLE some_rows (big bigint, day integer, code smallint, size real)")
    given_rows = np.array(rows, ROW)
    binary.write("some_rows", given_rows)
    with connection.cursor() as cursor:
        cursor.execute("SELECT big, day, code, size::float8 FROM some_rows")
        assert cursor.fetchall() == [tuple(row.item()) for row in given_rows]
    assert binary.read("SELECT * FROM some_rows", {}, ROW).tobytes() == given_rows.tobytes()


@pytest.mark.parametrize("column", ["NULL::integer", "1::bigint", "'x'::text", "1::smallint"])
def test_a_column_that_does_not_fit_is_refused(column: str) -> None:
    with pytest.raises(ValueError, match="NULL"):
        binary.read(f"SELECT 1::bigint, {column}, 1::smallint, 1::real", {}, ROW)
