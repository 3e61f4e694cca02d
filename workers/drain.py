"""Drains the news: stamps events, then acts on each in order, once, whatever is killed meanwhile."""

from collections.abc import Callable, Iterable

import structlog
from django.db import transaction

from assessments import restate, services
from assessments.works.actions import emergency
from inventory import events
from inventory.intake import settle
from inventory.models import Event, Tree
from workers.models import Reader, StuckEvent

log = structlog.get_logger(__name__)

READER = "drain"
BATCH = 100
GIVE_UP_AFTER = 5
# More trees than this are marked as the whole inventory.
MOST_MARKED = 10_000

# News after which the priority of the event's tree is computed again.
RESTATING = frozenset(
    {"tree.added", "tree.edited", "tree.measured", "tree.removed", "stump.ground", "support.installed"}
)


def _mark_all(event: Event) -> None:
    services.mark("all")


def _mark_zone(event: Event) -> None:
    if "area" in event.data.get("fields", ()):
        services.mark("all")  # a new boundary: the trees that left the zone are not in it any more
    else:
        services.mark("zone", int(event.data["zone"]))


def _mark_site(event: Event) -> None:
    services.mark_trees(Tree.objects.filter(site__uid=str(event.subject_uid)).values_list("pk", flat=True))


def _mark_settled(event: Event) -> None:
    changed = sum(int(event.data[name]) for name in ("changed", "taken_off", "put_back"))
    if changed > MOST_MARKED:
        services.mark("all")
    elif changed:
        services.mark_trees(settle.trees_of(event.data["key"]).values_list("pk", flat=True))


HANDLERS: dict[str, Callable[[Event], None]] = {
    "intake.loaded": _mark_all,
    "intake.merged": _mark_all,
    "intake.undone": _mark_all,
    "species.settled": _mark_settled,
    "zone.made": _mark_zone,
    "zone.edited": _mark_zone,
    "site.edited": _mark_site,
    "emergency.raised": emergency.open_order,
}


def drain() -> int:
    """Stamp and act until nothing is new; return how many events were acted on."""
    events.stamp()
    acted = 0
    while batch := _step():
        acted += batch
    return acted


def _step() -> int:
    """Act on the next batch in one transaction; on failure fall back to one event at a time."""
    try:
        return _act(BATCH)
    except Exception as error:
        log.warning("a batch of news failed, going on one by one", error=str(error))
        return _one()


def _one() -> int:
    """Act on the next event alone; give it up, for a person to see, after several attempts."""
    try:
        return _act(1)
    except Exception as error:
        log.exception("news could not be acted on")
        return _failed(error)


@transaction.atomic
def _act(limit: int) -> int:
    reader = _reader()
    batch = events.since(reader.position, limit)
    _restate(event.tree_id for event in batch if event.kind in RESTATING)
    for event in batch:
        handler = HANDLERS.get(event.kind)
        if handler:
            handler(event)
    if batch:
        reader.position = int(batch[-1].position or 0)
        reader.attempts = 0
        reader.save(update_fields=["position", "attempts"])
    return len(batch)


def _reader() -> Reader:
    """The reader's row, locked: one drain at a time."""
    Reader.objects.get_or_create(name=READER)
    return Reader.objects.select_for_update().get(name=READER)


def _restate(tree_ids: Iterable[int | None]) -> None:
    standing = sorted({tree_id for tree_id in tree_ids if tree_id is not None})
    if standing:
        restate.restate(standing)


@transaction.atomic
def _failed(error: Exception) -> int:
    """Count the attempt; after the last one note the event and step over it."""
    reader = _reader()
    event = next(iter(events.since(reader.position, 1)), None)
    if event is None:
        return 0
    reader.attempts += 1
    if reader.attempts >= GIVE_UP_AFTER:
        StuckEvent.objects.get_or_create(reader=reader, event=event, defaults={"problem": repr(error)})
        reader.position, reader.attempts = int(event.position or 0), 0
    reader.save(update_fields=["position", "attempts"])
    return 1 if reader.attempts == 0 else 0
