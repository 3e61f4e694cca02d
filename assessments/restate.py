"""Recomputes priority and due dates: `restate` inside the caller's transaction, the passes in blocks of their own.

Nothing here reads a clock: the same facts and policy give the same rows, however often and in whatever order.
"""

import time
from collections.abc import Generator, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from threading import Barrier
from typing import Any, Final, Protocol

import numpy as np
from django.db import OperationalError, connection, transaction
from psycopg.errors import DeadlockDetected, SerializationFailure

from assessments import binary, inputs
from assessments.inputs import Chosen
from assessments.methods import priority
from assessments.methods.policy import Policy
from assessments.models import Mark
from inventory.models import Tree
from inventory.models.tree import STANDING
from inventory.statements import statement

BLOCK: Final = 50_000
# Blocks at once in a pass: the database and this process both have work meanwhile.
READERS: Final = 2
# Any numbers that nothing else in this database locks.
PASS_LOCK: Final = 7_316_011
POLICY_LOCK: Final = 7_316_012
# Tries of a block before it is split into halves.
TRIES: Final = 4

_SEEN = [("last_seen", "i4"), ("planted", "i4")]
_RESTATED: Final = np.dtype([*priority.RESULT.descr, *_SEEN])


class Progress(Protocol):
    """What a pass calls after each block. May raise to stop it: blocks done stay done, marks stay to be done."""

    def __call__(self, done: int, total: int | None, step: str) -> None:
        """Say how far it is."""


def _quiet(done: int, total: int | None, step: str) -> None:
    """Report to nobody."""


@dataclass(frozen=True)
class Restated:
    """What a recompute did, in trees: read, written anew, added, dropped; changes of class or date; retries."""

    read: int = 0
    written: int = 0
    added: int = 0
    dropped: int = 0
    changes: int = 0
    retries: int = 0

    def __add__(self, other: "Restated") -> "Restated":
        pairs = zip(asdict(self).values(), asdict(other).values(), strict=True)
        return Restated(*(one + two for one, two in pairs))

    def as_dict(self) -> dict[str, int]:
        """As plain numbers by name."""
        return asdict(self)


def restate(tree_ids: Sequence[int]) -> Restated:
    """Recompute some trees inside the caller's transaction, so that it reads what it wrote.

    Locks the trees, so that of two that write facts of one tree the later one sees both facts. Meant for up to
    100 trees; mark more than that.
    """
    ids = sorted(set(tree_ids))
    if not ids:
        return Restated()
    with transaction.atomic():
        list(Tree.objects.select_for_update(no_key=True).filter(pk__in=ids).order_by("pk").values_list("pk"))
        with connection.cursor() as cursor:
            # Held by others while a new policy is adopted: then its marks come after our rows, or we see it.
            cursor.execute("SELECT pg_advisory_xact_lock_shared(%s)", [POLICY_LOCK])
        return _compute(Chosen.of(ids), always=True)


def _compute(chosen: Chosen, *, always: bool = False) -> Restated:
    """Read, compute and write the chosen trees in the current transaction."""
    number, policy = inputs.policy_in_force()
    trees, ratings = inputs.read(chosen)
    _put(_rows(trees, ratings, policy))
    params = {"policy": number, "method": priority.VERSION, "always": always, **chosen.params}
    changes = _run("note_changes", chosen, params)
    written = _run("write_priority", chosen, params)
    return Restated(
        read=len(trees),
        written=written,
        added=_run("add_priority", chosen, params) if written < len(trees) else 0,
        dropped=_run("drop_priority", chosen, params),
        changes=changes,
    )


def _rows(trees: binary.Rows, ratings: binary.Rows, policy: Policy) -> binary.Rows:
    result = priority.prioritise(trees, ratings, policy)
    rows = np.empty(len(result), _RESTATED)
    for name in priority.RESULT.names or ():
        rows[name] = result[name]
    for name, _ in _SEEN:
        rows[name] = trees[name]
    return rows


def _put(rows: binary.Rows) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT to_regclass('pg_temp.restated_rows') IS NULL")
        fresh = cursor.fetchone()[0]
        cursor.execute(statement("assessments", "make_restated") if fresh else "DELETE FROM restated")
    binary.write("restated", rows)
    if len(rows) > 1000:
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE restated")


def _run(name: str, chosen: Chosen, params: dict[str, Any]) -> int:
    with connection.cursor() as cursor:
        cursor.execute(chosen.put(statement("assessments", name)), params)
        return int(cursor.rowcount)


# Passes


def restate_all(progress: Progress = _quiet) -> Restated:
    """Recompute every tree, block by block; waits for another pass to end. Safe to break off and run again."""
    with _alone(wait=True):
        return _everything(progress)


def restate_marked(progress: Progress = _quiet) -> Restated:
    """Recompute what is marked; does nothing while another pass runs, for it leaves the newer marks.

    A mark is deleted only by a block whose snapshot saw it, or after a pass that began when it was there.
    """
    with _alone(wait=False) as alone:
        if not alone:
            return Restated()
        wide = list(Mark.objects.exclude(scope="tree").values_list("pk", "scope", "subject"))
        if any(scope == "all" for _, scope, _ in wide):
            return _everything(progress)
        done = Restated()
        for zone in sorted({subject for _, _, subject in wide if subject is not None}):
            done += _in_turn(_zone_blocks(zone), "zone", progress)
        Mark.objects.filter(pk__in=[pk for pk, _, _ in wide]).delete()
        return done + _in_turn(_marked_blocks(), "marked trees", progress, unmark=True)


def _everything(progress: Progress) -> Restated:
    marks = list(Mark.objects.values_list("pk", flat=True))
    total = Tree.objects.filter(state__in=STANDING).count()
    done = _in_turn(_all_blocks(), "all trees", progress, total)
    Mark.objects.filter(pk__in=marks).delete()
    return done


def _in_turn(
    blocks: Iterable[Chosen], step: str, progress: Progress, total: int | None = None, *, unmark: bool = False
) -> Restated:
    """All blocks, two at once: while one waits for the database to read, the other computes or writes."""
    done, todo = Restated(), list(blocks)
    together = 1 if connection.in_atomic_block else min(READERS, len(todo))
    results = _one_by_one(todo, unmark) if together < 2 else _side_by_side(todo, unmark, together)
    # Closed at once where the progress stops us: no further block is begun.
    with closing(results):
        for one in results:
            done += one
            progress(done.read, total, step)
    return done


def _one_by_one(todo: Sequence[Chosen], unmark: bool) -> Generator[Restated, None, None]:
    for chosen in todo:
        yield _block(chosen, unmark)


def _side_by_side(todo: Sequence[Chosen], unmark: bool, readers: int) -> Generator[Restated, None, None]:
    """Blocks as they are done, in threads with a connection each. Blocks hold no tree in common."""
    with ThreadPoolExecutor(readers) as pool:
        futures = [pool.submit(_block, chosen, unmark) for chosen in todo]
        try:
            for future in as_completed(futures):
                yield future.result()
        finally:
            for future in futures:
                future.cancel()
            # One for each thread: none leaves the barrier before all are there, so that each closes its own.
            list(pool.map(_hang_up, [Barrier(readers)] * readers))


def _hang_up(all_there: Barrier) -> None:
    all_there.wait()
    connection.close()


def _all_blocks() -> Iterator[Chosen]:
    """Ranges of BLOCK trees each; the last one reaches over rows whose trees are gone, too."""
    low = 0
    with connection.cursor() as cursor:
        while True:
            cursor.execute("SELECT id FROM tree WHERE id > %s ORDER BY id OFFSET %s LIMIT 1", [low, BLOCK - 1])
            row = cursor.fetchone()
            if row is None:
                break
            yield Chosen.between(low, int(row[0]))
            low = int(row[0])
        cursor.execute("SELECT greatest((SELECT max(id) FROM tree), (SELECT max(tree_id) FROM priority), %s)", [low])
        high = int(cursor.fetchone()[0])
    if high > low:
        yield Chosen.between(low, high)


def _zone_blocks(zone: int) -> Iterator[Chosen]:
    trees = Tree.objects.filter(zone=zone).order_by("pk").values_list("pk", flat=True)
    low = 0
    while ids := list(trees.filter(pk__gt=low)[:BLOCK]):
        yield Chosen.of(ids)
        low = ids[-1]


def _marked_blocks() -> Iterator[Chosen]:
    marked = Mark.objects.filter(scope="tree").order_by("subject").values_list("subject", flat=True).distinct()
    low = 0
    while ids := [subject for subject in marked.filter(subject__gt=low)[:BLOCK] if subject is not None]:
        yield Chosen.of(ids)
        low = ids[-1]


def _block(chosen: Chosen, unmark: bool) -> Restated:
    """One block in a snapshot of its own; where others keep writing into it, in halves."""
    for attempt in range(TRIES):
        try:
            return _once(chosen, unmark) + Restated(retries=attempt)
        except OperationalError as error:
            if not isinstance(error.__cause__, SerializationFailure | DeadlockDetected):
                raise
            time.sleep(0.02 * 2**attempt)
    halves = [_block(half, unmark) for half in chosen.halves()] or [_once(chosen, unmark)]
    return sum(halves, Restated(retries=TRIES))


def _once(chosen: Chosen, unmark: bool) -> Restated:
    with _snapshot():
        done = _compute(chosen)
        if unmark:
            # Only those that this snapshot sees: a mark made since asks again.
            Mark.objects.filter(scope="tree", subject__in=chosen.ids or ()).delete()
        return done


@contextmanager
def _snapshot() -> Iterator[None]:
    """A REPEATABLE READ transaction: everything read is of one moment, and a row written since stops us.

    Inside a caller's transaction (a test that rolls back) it is the caller's isolation.
    """
    outermost = not connection.in_atomic_block
    with transaction.atomic():
        if outermost:
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
                # Right after a load there are no statistics yet, and a nested loop over a block takes minutes.
                cursor.execute("SET LOCAL enable_nestloop = off")
        yield


@contextmanager
def _alone(*, wait: bool) -> Iterator[bool]:
    """Hold the lock of the passes over their many transactions; yields whether it is held.

    A lock of the session, not of a transaction, for one transaction around a whole pass would keep the dead rows of
    the whole database. It goes with the connection when the process is killed.
    """
    with connection.cursor() as cursor:
        if wait:
            cursor.execute("SELECT true FROM pg_advisory_lock(%s)", [PASS_LOCK])
        else:
            cursor.execute("SELECT pg_try_advisory_lock(%s)", [PASS_LOCK])
        held = bool(cursor.fetchone()[0])
    try:
        yield held
    finally:
        if held:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(%s)", [PASS_LOCK])
