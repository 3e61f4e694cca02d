"""Tree-years at risk end at the first treatment, removal, change of target, failure or new rating."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.methods.outcomes import ENDINGS, Ending, Rated, spells

START, UNTIL = date(2020, 1, 1), date(2026, 1, 1)


def day(years: float) -> date:
    return START + timedelta(days=round(365.25 * years))


def test_an_undisturbed_tree_is_at_risk_until_today() -> None:
    (one,) = spells([Rated("a", "possible", START)], [], UNTIL)
    assert (one.ended_by, one.end) == ("open", UNTIL)
    assert one.years == pytest.approx(6.0, abs=0.01)


@pytest.mark.parametrize("kind", ENDINGS)
def test_each_ending_ends_the_time_at_risk(kind: str) -> None:
    (one,) = spells([Rated("a", "possible", START)], [Ending("a", day(2), kind)], UNTIL)
    assert one.ended_by == kind
    assert one.years == pytest.approx(2.0, abs=0.01)


def test_after_a_treatment_nothing_is_at_risk_until_the_tree_is_rated_again() -> None:
    ratings = [Rated("a", "probable", START), Rated("a", "improbable", day(3))]
    found = spells(ratings, [Ending("a", day(1), "treatment")], UNTIL)
    assert [(one.category, round(one.years, 1)) for one in found] == [("probable", 1.0), ("improbable", 3.0)]


def test_a_failure_after_a_treatment_counts_for_no_category() -> None:
    endings = [Ending("a", day(1), "treatment"), Ending("a", day(2), "failure", "storm")]
    (one,) = spells([Rated("a", "probable", START)], endings, UNTIL)
    assert one.ended_by == "treatment"


def test_a_new_rating_begins_a_new_spell() -> None:
    found = spells([Rated("a", "possible", START), Rated("a", "probable", day(2))], [], UNTIL)
    assert [one.ended_by for one in found] == ["rated_again", "open"]


def test_a_failure_belongs_to_the_rating_that_stood() -> None:
    ratings = [Rated("a", "possible", START), Rated("a", "probable", day(2))]
    found = spells(ratings, [Ending("a", day(3), "failure", "storm")], UNTIL)
    assert [(one.category, one.ended_by) for one in found] == [("possible", "rated_again"), ("probable", "failure")]


def test_what_happened_before_the_rating_or_after_today_does_not_count() -> None:
    endings = [Ending("a", day(-1), "treatment"), Ending("a", UNTIL + timedelta(days=1), "failure")]
    (one,) = spells([Rated("a", "possible", START)], endings, UNTIL)
    assert one.ended_by == "open"
    assert not spells([Rated("a", "possible", UNTIL + timedelta(days=1))], [], UNTIL)


def test_a_felled_tree_is_not_at_risk_again() -> None:
    ratings = [Rated("a", "possible", START), Rated("a", "possible", day(4))]
    assert len(spells(ratings, [Ending("a", day(2), "removal")], UNTIL)) == 1


def test_an_unknown_ending_is_refused() -> None:
    with pytest.raises(ValueError, match="kind"):
        Ending("a", START, "moved away")


_DAYS = st.integers(-500, 3000).map(lambda n: START + timedelta(days=n))


@given(
    st.lists(st.builds(Rated, st.sampled_from("ab"), st.sampled_from(["possible", "probable"]), _DAYS), max_size=6),
    st.lists(st.builds(Ending, st.sampled_from("ab"), _DAYS, st.sampled_from(ENDINGS)), max_size=6),
)
def test_no_tree_is_twice_at_risk_on_a_day_and_fails_at_most_once(ratings: list[Rated], endings: list[Ending]) -> None:
    found = spells(ratings, endings, UNTIL)
    for tree in "ab":
        own = [one for one in found if one.tree == tree]
        assert all(first.end <= second.start for first, second in pairwise(own))
        assert all(one.start <= one.end <= UNTIL for one in own)
        assert sum(one.ended_by == "failure" for one in own) <= sum(
            (one.tree, one.kind) == (tree, "failure") for one in endings
        )


_RATINGS = st.lists(
    st.builds(Rated, st.sampled_from("ab"), st.sampled_from(["possible", "probable"]), _DAYS), max_size=6
)
_ENDINGS = st.lists(st.builds(Ending, st.sampled_from("ab"), _DAYS, st.sampled_from(ENDINGS)), max_size=8)


def one_by_one(tree: str, ratings: list[Rated], endings: list[Ending]) -> list[tuple[str, date, date, str]]:
    """The same rule told of one tree at a time: an ending is used once, and after a removal nothing is at risk."""
    left = sorted((e for e in endings if e.tree == tree), key=lambda e: (e.day, ENDINGS.index(e.kind)))
    gone = min((e.day for e in left if e.kind == "removal"), default=date.max)
    days = {r.day: r for r in sorted((r for r in ratings if r.tree == tree), key=lambda r: r.day)}
    found = []
    for rating, after in zip(days.values(), [*list(days), date.max][1:], strict=True):
        if rating.day > min(UNTIL, gone):
            break
        ends = [(UNTIL, "open"), (after, "rated_again")]
        ends += [(e.day, e.kind) for e in left if e.day >= rating.day][:1]
        # Of two that fall on one day the later in the list goes before.
        end, by = min(reversed(ends), key=lambda one: one[0])
        found.append((rating.category, rating.day, end, by))
        if by in ENDINGS:
            left = [e for e in left if e.day > end]
    return [one for one in found if one[2] > one[1] or one[3] == "failure"]


@given(_RATINGS, _ENDINGS)
def test_a_whole_city_is_cut_as_each_of_its_trees_is(ratings: list[Rated], endings: list[Ending]) -> None:
    found = [(s.category, s.start, s.end, s.ended_by) for s in spells(ratings, endings, UNTIL)]
    assert found == [one for tree in "ab" for one in one_by_one(tree, ratings, endings)]


@given(_RATINGS, _ENDINGS)
def test_a_failure_before_any_rating_counts_nowhere(ratings: list[Rated], endings: list[Ending]) -> None:
    for tree in "ab":
        first = min((one.day for one in ratings if one.tree == tree), default=date.max)
        early = [e for e in endings if (e.tree, e.kind) == (tree, "failure") and e.day < first]
        rest = [e for e in endings if e not in early]
        assert list(spells(ratings, endings, UNTIL)) == list(spells(ratings, rest, UNTIL))


def test_a_tree_that_lost_a_limb_and_was_rated_again_is_at_risk_again() -> None:
    ratings = [Rated("a", "possible", START), Rated("a", "probable", day(3))]
    endings = [Ending("a", day(2), "failure"), Ending("a", day(4), "failure")]
    found = spells(ratings, endings, UNTIL)
    assert [(one.category, one.ended_by) for one in found] == [("possible", "failure"), ("probable", "failure")]
