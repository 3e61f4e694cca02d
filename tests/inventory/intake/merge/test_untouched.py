"""What is changed while a file is compared is not overwritten; what is recorded while a load is undone waits for it."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import connection

from inventory import calendar, places, services
from inventory.history import SERVICE
from inventory.intake.progress import Progress
from inventory.intake.undo import undo
from inventory.models import IntakeLoad, IntakeMerge, Measurement, Tree
from inventory.problems import Conflict, Refusal
from tests.support import intake, merging
from tests.support.intake import species as species

FIRST = [intake.row(number) for number in range(1, 7)]
LATER = [
    *FIRST[:3], intake.row(4, species="Tilia americana"), intake.row(5, dbh="30"), intake.row(6, address="8a Mill Lane")
]  # fmt: skip


def once_at(at: str, act: Callable[[], object]) -> Progress:
    """Act once, as soon as the work comes to a step."""
    waiting = [act]

    def progress(done: int, total: int | None, step: str) -> None:
        if step == at and waiting:
            waiting.pop()()

    return progress


def edit(key: str, **changes: object) -> None:
    tree = Tree.objects.get(external_key=key)
    services.edit_tree(SERVICE, tree, changes, version=tree.version, why="species settled: seen on the spot")


def measure(key: str) -> None:
    size = services.Size(measured_on=calendar.today(), method="tape", dbh_cm=44)
    services.measure(SERVICE, Tree.objects.get(external_key=key), size)


def edit_site(key: str) -> None:
    site = Tree.objects.select_related("site").get(external_key=key).site
    assert site
    places.edit_site(SERVICE, site, {"street": "Our Lane"}, version=site.version, why="a new name")


@pytest.mark.django_db
@pytest.mark.parametrize(
    "act", [lambda: edit("T4", species_text="our own"), lambda: measure("T5"), lambda: edit_site("T6")]
)
def test_what_is_changed_while_a_file_is_compared_is_not_overwritten(
    species: None, tmp_path: Path, act: Callable[[], object]
) -> None:
    merging.load(tmp_path, FIRST)
    with pytest.raises(Conflict, match=r"1 of the trees and sites .* merge again"):
        merging.merge(tmp_path, LATER, progress=once_at("deciding", act))
    assert IntakeMerge.objects.count() == 0


@pytest.mark.django_db
def test_an_edit_of_a_tree_that_a_merge_does_not_write_is_no_hindrance(species: None, tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    made = merging.merge(tmp_path, LATER, progress=once_at("deciding", lambda: edit("T1", note="leans")))
    assert made.counts["taken"]["trees_changed"] == 3
    assert Tree.objects.get(external_key="T1").note == "leans"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("merged", [False, True])
def test_nothing_is_written_on_trees_while_they_are_taken_back(species: None, tmp_path: Path, merged: bool) -> None:
    merging.load(tmp_path, FIRST)
    if merged:
        merging.merge(tmp_path, LATER)
    refused: list[BaseException] = []
    threads: list[threading.Thread] = []

    def write() -> None:
        try:
            edit("T4", note="seen meanwhile")
        except (Refusal, Tree.DoesNotExist) as error:
            refused.append(error)
        finally:
            connection.close()

    def start() -> None:
        threads.append(threading.Thread(target=write))
        threads[0].start()
        # Time enough for a write that nothing holds back.
        threads[0].join(0.5)
        assert threads[0].is_alive()

    undo(SERVICE, IntakeLoad.objects.order_by("-id")[0].uid, once_at("taking trees back", start))
    threads[0].join()
    assert len(refused) == 1
    assert Tree.objects.filter(note="seen meanwhile").count() == 0
    assert Measurement.objects.exists() == merged
