"""How many queries a request makes, against a committed baseline (tests/api/query_counts.json).

`UPDATE_QUERY_COUNTS=1` writes the baseline anew; the difference is then read in review.
"""

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from django.db import connection
from django.test.utils import CaptureQueriesContext

BASELINE: Final = Path(__file__).resolve().parent.parent / "api" / "query_counts.json"


def counted(call: Callable[[], Any]) -> int:
    """The number of queries that a call makes."""
    with CaptureQueriesContext(connection) as captured:
        call()
    return len(captured)


def check(name: str, count: int) -> None:
    """Compare with the baseline; more or fewer fails, and so does a name that is not in it."""
    known: dict[str, int] = json.loads(BASELINE.read_text()) if BASELINE.exists() else {}
    if os.environ.get("UPDATE_QUERY_COUNTS"):
        BASELINE.write_text(json.dumps(known | {name: count}, indent=2, sort_keys=True) + "\n")
        return
    assert known.get(name) == count, f"{name}: {count} queries, the baseline says {known.get(name)}"
