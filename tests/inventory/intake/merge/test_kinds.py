"""What a later file's rows are: same, changed, moved, appeared, gone, returned, vanished, ambiguous, refused."""

import uuid
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from inventory import services
from inventory.history import SERVICE
from inventory.intake import mapping as mappings
from inventory.intake.merge import queries
from inventory.models import Site, Tree
from inventory.problems import Invalid
from tests.support import build, intake, merging
from tests.support.intake import species as species

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]
FIRST = [intake.row(number, dbh=str(8 + number)) for number in range(1, 13)]
# The same mapping without the key.
KEYLESS = mappings.parse(intake.MAPPING.replace('[[column]]\nheading = "id"\nrole = "key"\n', ""))


def east(number: int, metres: float) -> dict[str, str]:
    """The place of a row, so much farther east."""
    return {"lon": f"{build.LON + (number * 20 + metres) / 78_850:.8f}"}


def test_a_file_merged_with_itself_changes_nothing(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    before = merging.standing()
    made = merging.merge(tmp_path, FIRST)
    assert merging.kinds(made) == {"same": 12}
    assert (made.notices, merging.standing()) == ([], before)


@pytest.mark.parametrize("mapping", [intake.mapping(), KEYLESS], ids=["keys", "no keys"])
def test_each_row_is_told_what_it_is(tmp_path: Path, mapping: mappings.Mapping) -> None:
    merging.load(tmp_path, FIRST, mapping)
    later = [
        *FIRST[:6],
        intake.row(7, dbh="15", species="Acer rubrum")
        if mapping is not KEYLESS
        else intake.row(7, dbh="15", height="40"),
        intake.row(8, dbh="17"),
        intake.row(9, dbh="17", **east(9, 3)),
        intake.row(10, dbh="", species="Vacant site"),
        intake.row(11, dbh="", species="Stump"),
        intake.row(21, species="Quercus robur"),
        intake.row(22, lat=""),
    ]
    made = merging.check(tmp_path, later, mapping)
    assert merging.kinds(made) == {
        "same": 6, "changed": 2, "moved": 1, "gone": 2, "appeared": 1, "vanished": 1, "refused": 1,
    }  # fmt: skip
    moved = merging.row(made, "moved")
    assert moved.distance_m == pytest.approx(3.0, abs=0.05)
    assert merging.row(made, "vanished").about["dbh_cm"] == pytest.approx(20 * 2.54)
    assert merging.row(made, "refused").details == ["the row has no coordinates"]
    (dbh,) = queries.rows(made, "changed").get(line=9).differences
    assert (dbh["field"], dbh["standing"], dbh["taken"]) == ("dbh", "free", True)
    assert (dbh["ours"], dbh["file"]) == pytest.approx((16 * 2.54, 17 * 2.54))


def test_the_order_of_the_rows_never_matters(tmp_path: Path) -> None:
    merging.load(tmp_path, [*FIRST, intake.row(30, id=""), intake.row(31, id="", lon=intake.row(30)[-1])])
    later = [
        *FIRST[:8], intake.row(9, dbh="30"), intake.row(9, id="T9", dbh="31", **east(9, 1)), intake.row(40, id="T40"),
        intake.row(41, id="T40"), intake.row(30, id=""), intake.row(10, id="", **east(10, 2)),
    ]  # fmt: skip

    def told(rows: list[list[str]]) -> tuple[list[str], dict[str, int]]:
        made = merging.check(tmp_path, rows)
        found = queries.rows(made)
        plain = [(rows[row.line - 2] if row.line else None, row.kind, row.tree_uid, row.differing) for row in found]
        return sorted(repr(row) for row in plain), merging.kinds(made)

    expected = told(later)
    for seed in range(5):
        mixed = np.random.default_rng(seed).permutation(len(later))
        assert told([later[place] for place in mixed]) == expected


def test_a_repeated_key_goes_to_the_row_at_its_tree_and_to_no_other(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    made = merging.check(tmp_path, [*FIRST[1:], intake.row(1, **east(1, 300)), FIRST[0]])
    assert merging.kinds(made) == {"same": 12, "ambiguous": 1}
    assert merging.row(made, "ambiguous").details == ["the key T1 stands on 2 rows of the file"]
    made = merging.check(tmp_path, [*FIRST[1:], intake.row(50, id="T50"), intake.row(51, id="T50")])
    assert merging.kinds(made) == {"same": 11, "ambiguous": 2, "vanished": 1}
    made = merging.check(tmp_path, [*FIRST, intake.row(50, id="T50", lat=""), intake.row(51, id="T50")])
    assert merging.kinds(made) == {"same": 12, "ambiguous": 1, "refused": 1}


def test_a_key_far_away_on_another_species_is_never_guessed(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    made = merging.check(tmp_path, [*FIRST[1:], intake.row(1, species="Quercus robur", **east(1, 900))])
    assert merging.kinds(made) == {"same": 11, "ambiguous": 1}
    (told,) = merging.row(made, "ambiguous").details
    assert "the key T1 is here that of a tree 900 m away" in told


def test_keys_given_anew_are_noticed_and_the_trees_found_by_place(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    # Each key of the first file stands on another tree now.
    later = [intake.row(number, id=f"T{13 - number}", dbh=str(8 + number)) for number in range(1, 13)]
    made = merging.merge(tmp_path, later)
    assert merging.kinds(made) == {"changed": 12}
    assert made.counts["fields"] == {
        "key": {"differs": 12, "free": 12, "conflict": 0, "kept": 0, "systematic": 0, "taken": 12}
    }
    (notice,) = made.notices
    assert (notice["kind"], notice["rows"]) == ("keys_renumbered", 12)
    assert "of 12 keys that stand here and in the file only 0 are on the same tree" in notice["text"]
    assert Tree.objects.get(external_key="T1").dbh_cm == pytest.approx(20 * 2.54)


def test_two_as_likely_are_ambiguous_and_neither_vanishes(tmp_path: Path) -> None:
    pair = [intake.row(1, dbh="10"), intake.row(1, dbh="10", id="T2", **east(1, 4))]
    merging.load(tmp_path, [*FIRST[2:], *pair], KEYLESS)
    made = merging.check(tmp_path, [*FIRST[2:], intake.row(1, dbh="10", **east(1, 2))], KEYLESS)
    assert merging.kinds(made) == {"same": 10, "ambiguous": 1}
    assert "several trees here within 5 m could be it" in merging.row(made, "ambiguous").details[0]


def test_trees_on_one_point_that_differ_in_their_address_alone_are_the_same(tmp_path: Path) -> None:
    clump = [intake.row(1, dbh="10", address=f"{number} Mill Lane") for number in range(1, 4)]
    merging.load(tmp_path, [*FIRST[2:], *clump], KEYLESS)
    assert Tree.objects.count() == 13
    made = merging.check(tmp_path, [*FIRST[2:], *reversed(clump)], KEYLESS)
    assert merging.kinds(made) == {"same": 13}


def test_rows_counted_through_anew_are_noticed(tmp_path: Path) -> None:
    """One tree was put in at the front: every key stands on the neighbour now, 20 m on."""
    merging.load(tmp_path, FIRST)
    later = [intake.row(number - 1, id=f"T{number}", dbh=str(7 + number)) for number in range(1, 14)]
    made = merging.check(tmp_path, later)
    assert merging.kinds(made) == {"changed": 12, "appeared": 1}
    assert [notice["kind"] for notice in made.notices] == ["keys_renumbered"]


def test_another_species_at_the_place_is_another_tree(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST, KEYLESS)
    made = merging.check(tmp_path, [*FIRST[1:], intake.row(1, dbh="9", species="Quercus robur")], KEYLESS)
    assert merging.kinds(made) == {"same": 11, "appeared": 1, "vanished": 1}


def test_a_size_that_no_tree_reaches_is_another_tree(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST, KEYLESS)
    made = merging.check(tmp_path, [*FIRST[:11], intake.row(12, dbh="1")], KEYLESS)
    assert merging.kinds(made) == {"same": 11, "appeared": 1, "vanished": 1}


def test_an_unknown_cell_differs_from_nothing(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    later = [intake.row(n, dbh="", height="", planted="", address="", site="", species="") for n in range(1, 13)]
    assert merging.kinds(merging.check(tmp_path, later)) == {"same": 12}


def test_a_tree_that_no_file_had_does_not_vanish(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    build.tree(3000, 3000)
    assert merging.kinds(merging.check(tmp_path, FIRST)) == {"same": 12, "only_ours": 1}


@pytest.mark.parametrize("mapping", [intake.mapping(), KEYLESS], ids=["keys", "no keys"])
def test_a_tree_felled_since_does_not_appear_again(tmp_path: Path, mapping: mappings.Mapping) -> None:
    merging.load(tmp_path, FIRST, mapping)
    tree = Tree.objects.order_by("id")[0]
    services.remove_tree(SERVICE, tree, on=date(2026, 3, 1), reason="storm", stump_ground=True)
    made = merging.merge(tmp_path, FIRST, mapping)
    assert merging.kinds(made) == {"same": 11, "returned": 1}
    assert Tree.objects.count() == 12
    assert merging.row(made, "returned").differences == [
        {"field": "state", "ours": "removed", "file": "alive", "standing": "free", "taken": False}
    ]


def test_a_tree_planted_on_a_vacant_site_takes_that_site(tmp_path: Path) -> None:
    merging.load(tmp_path, [*FIRST, intake.row(20, species="Vacant site", dbh="")])
    site = Site.objects.get(state="vacant")
    merging.merge(tmp_path, [*FIRST, intake.row(20, dbh="2")])
    planted = Tree.objects.get(external_key="T20")
    assert planted.site_id == site.pk
    assert Site.objects.get(pk=site.pk).state == "planted"
    assert Site.objects.count() == 13


def test_a_file_of_another_city_is_refused_unless_asked_for(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    before = merging.standing()
    other = [intake.row(n, id=f"X{n}", lat=f"{build.LAT + 0.05:.6f}") for n in range(1, 30)]
    with pytest.raises(Invalid, match=r"no later file of this city: of its 29 trees 0 are among the 12 here"):
        merging.merge(tmp_path, other)
    assert merging.standing() == before
    assert merging.kinds(merging.merge(tmp_path, other, anyway=True)) == {"appeared": 29, "vanished": 12}


def test_where_nothing_stands_there_is_nothing_to_merge_with(tmp_path: Path) -> None:
    with pytest.raises(Invalid, match="load the file instead"):
        merging.check(tmp_path, FIRST)
    merging.load(tmp_path, FIRST)
    with pytest.raises(Invalid, match="no rows"):
        merging.check(tmp_path, [])


def test_a_pile_of_rows_on_one_point_is_told_and_not_searched(tmp_path: Path) -> None:
    pile = [intake.row(1, id="", dbh=str(3 + n % 40), height=str(10 + n)) for n in range(300)]
    merging.load(tmp_path, [*FIRST[1:], *pile])
    mixed = [intake.row(1, id="", dbh=str(3 + n % 40), height=str(11 + n)) for n in range(300)]
    made = merging.check(tmp_path, [*FIRST[1:], *mixed])
    assert merging.kinds(made)["ambiguous"] + merging.kinds(made)["same"] == 311
    assert "vanished" not in merging.kinds(made)


def test_a_choice_for_one_line_or_tree_goes_before_that_of_its_kind(tmp_path: Path) -> None:
    merging.load(tmp_path, FIRST)
    later = [*FIRST[:9], intake.row(10, dbh="40"), intake.row(11, dbh="40")]
    vanished = Tree.objects.get(external_key="T12")
    made = merging.merge(
        tmp_path, later, lines={"11": "ours"}, trees={str(vanished.uid): "file", str(uuid.uuid4()): "ours"}
    )
    assert made.counts["taken"] == {
        "trees_changed": 1, "measurements": 1, "sites_changed": 0, "appeared": 0, "gone": 0, "vanished": 1,
    }  # fmt: skip
    vanished.refresh_from_db()
    assert (vanished.state, vanished.removal_reason) == ("removed", "not in the city's file later.csv any more")
    assert Tree.objects.get(external_key="T10").dbh_cm == pytest.approx(18 * 2.54)
    assert Tree.objects.get(external_key="T11").dbh_cm == pytest.approx(40 * 2.54)
