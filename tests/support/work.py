"""Work counted instead of timed: calls of functions, which are the same on a busy machine and on an idle one."""

import sys
from collections.abc import Callable
from typing import Any

import pytest


def calls_made(work: Callable[[], Any]) -> int:
    """How many Python functions a piece of work calls; what is vectorised calls as many for a million rows as for one.

    >>> calls_made(lambda: [abs(n) for n in range(5)]) == calls_made(lambda: [abs(n) for n in range(50)])
    True
    """
    count = 0

    def note(frame: Any, event: str, argument: Any) -> None:
        nonlocal count
        count += event == "call"

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


def counting(monkeypatch: pytest.MonkeyPatch, module: Any, name: str) -> list[int]:
    """Count the calls of a module's function from now on: a list that grows by one for each."""
    calls: list[int] = []
    plain = getattr(module, name)

    def counted(*args: Any, **kwargs: Any) -> Any:
        calls.append(1)
        return plain(*args, **kwargs)

    monkeypatch.setattr(module, name, counted)
    return calls
