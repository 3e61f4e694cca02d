"""The table of checks: each has a name, a severity, the reason in words and a test over all rows at once.

The thresholds are the project's choice (common practice, no source) unless a line says otherwise.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from inventory.intake.facts import Facts
from inventory.intake.table import Bools

Severity = Literal["refuse", "warn", "note"]
SUSPICIOUS = 1.5
# The tallest tree known is about 116 m, the thickest stem about 14 m across (both widely reported).
TALLEST_M = 116.0
THICKEST_CM = 1450.0
LONGEST_KEY = 200
# Height over diameter in the Urban Tree Database (McPherson et al. 2016): 99.9 % of 13,897 trees lie from 6 to 211.
SLENDER, STOUT = 250.0, 5.0


@dataclass(frozen=True)
class Check:
    """One check. `unset` names the columns that become unknown in the rows it finds; `shows` fills the reason."""

    name: str
    severity: Severity
    title: str
    reason: str
    test: Callable[[Facts], Bools]
    shows: Callable[[Facts, int], tuple[object, ...]] = lambda facts, row: ()
    unset: tuple[str, ...] = ()

    def say(self, facts: Facts, row: int) -> str:
        """The reason for one row, with its values."""
        return self.reason.format(*self.shows(facts, row))


def _mark(name: str) -> Callable[[Facts], Bools]:
    return lambda facts: facts.table.mark(name)


def _shows(*names: str) -> Callable[[Facts, int], tuple[object, ...]]:
    return lambda facts, row: tuple(float(facts.table.numbers[name][row]) for name in names)


def _text(name: str) -> Callable[[Facts, int], tuple[object, ...]]:
    return lambda facts, row: (facts.table.texts[name].at(row),)


def _match(facts: Facts, row: int) -> tuple[object, ...]:
    code = facts.table.texts["species"].codes[row]
    return facts.table.texts["species"].values[code], facts.matches[code].botanical_name


def _settled(facts: Facts, row: int) -> tuple[object, ...]:
    text, name = _match(facts, row)
    return text, name or "no species of the catalogue, the text is kept"


def _dbh_with(facts: Facts, row: int) -> tuple[object, ...]:
    return float(facts.table.numbers["dbh_cm"][row]), float(facts.max_dbh_cm[row]), _match(facts, row)[1]


def _height_with(facts: Facts, row: int) -> tuple[object, ...]:
    height = float(facts.table.numbers["height_m"][row])
    return height, float(facts.mature_height_m[row]), _match(facts, row)[1]


def _no_place(facts: Facts) -> Bools:
    lon, lat = facts.table.numbers["lon"], facts.table.numbers["lat"]
    return np.asarray(np.isnan(lon) | np.isnan(lat)) & ~facts.table.mark("place_unread")


def _out_of_range(facts: Facts) -> Bools:
    lon, lat = facts.table.numbers["lon"], facts.table.numbers["lat"]
    known = ~(np.isnan(lon) | np.isnan(lat))
    return np.asarray(known & ~facts.placed)


def _dbh_over(low: float, high: float) -> Callable[[Facts], Bools]:
    def test(facts: Facts) -> Bools:
        times = facts.table.numbers["dbh_cm"] / facts.max_dbh_cm
        return np.asarray((times > low) & (times <= high))

    return test


def _height_over(facts: Facts) -> Bools:
    height = facts.table.numbers["height_m"]
    return np.asarray((height > SUSPICIOUS * facts.mature_height_m) & (height <= TALLEST_M))


def _disproportion(facts: Facts) -> Bools:
    """Heights of more than SLENDER times the diameter, or of stems of some size less than STOUT times."""
    dbh, height = facts.table.numbers["dbh_cm"], facts.table.numbers["height_m"]
    times = 100 * height / dbh
    return np.asarray(((times > SLENDER) & (height > 4)) | ((times < STOUT) & (dbh > 15)))


def _future(facts: Facts) -> Bools:
    return np.asarray(facts.table.days["planted_from"] > facts.today.toordinal())


def _no_species(facts: Facts) -> Bools:
    return facts.standing & ~facts.table.texts["species"].filled()


def _unmatched(facts: Facts) -> Bools:
    return facts.standing & facts.how("none") & facts.table.texts["species"].filled()


def _key_missing(facts: Facts) -> Bools:
    key = facts.table.texts["key"]
    # A file without a key column has no key to miss.
    return np.asarray(~key.filled() & (len(key.values) > 1))


def _key_again(facts: Facts) -> Bools:
    first = facts.first_line_of_key
    return np.asarray((first > 0) & (first != facts.table.lines) & (facts.first_line_of_row == 0))


def _is(state: str) -> Callable[[Facts], Bools]:
    return lambda facts: facts.is_state(state)


def _under(name: str) -> Callable[[Facts], Bools]:
    return lambda facts: facts.table.numbers[name] < 0.1


def _key_too_long(facts: Facts) -> Bools:
    key = facts.table.texts["key"]
    return np.array([len(value) > LONGEST_KEY for value in key.values])[key.codes]


PLANTED = ("planted_from", "planted_to")
CHECKS: tuple[Check, ...] = (
    # refused: the row cannot become a tree of the inventory
    Check("cells_do_not_fit", "refuse", "More or fewer cells than the heading",
          "the row has more or fewer cells than the heading", _mark("ragged")),
    Check("no_coordinates", "refuse", "No coordinates", "the row has no coordinates", _no_place),
    Check("coordinates_unreadable", "refuse", "Coordinates cannot be read",
          "the coordinates cannot be read as numbers", _mark("place_unread")),
    Check("coordinates_out_of_range", "refuse", "Coordinates that are no place",
          "longitude {0:g}, latitude {1:g} is no place in degrees", _out_of_range, _shows("lon", "lat")),
    Check("far_from_the_others", "refuse", "Far from all other trees of the file",
          "the nearest other tree of the file is {0:.1f} km away",
          lambda facts: ~np.isnan(facts.alone_km), lambda facts, row: (facts.alone_km[row],)),
    Check("duplicate", "refuse", "The same row stands in the file before",
          "the row is the same as that of line {0} in all that is taken over",
          lambda facts: facts.first_line_of_row > 0,
          lambda facts, row: (facts.first_line_of_row[row],)),
    Check("key_repeated", "refuse", "The key stands on an earlier row",
          "the key {0} stands on line {1} already", _key_again,
          lambda facts, row: (facts.table.texts["key"].at(row), facts.first_line_of_key[row])),
    Check("key_too_long", "refuse", "Too long for a key",
          f"the key has more than {LONGEST_KEY} characters", _key_too_long),
    Check("removed", "refuse", "A tree that was removed",
          "the file says that the tree is gone; its site is not known to be free", _is("removed")),
    Check("other_values", "refuse", "In the inventory already, with other values",
          "the key {0} is in the inventory already with other values: merging comes with its own step",
          lambda facts: facts.other, _text("key")),
    # accepted with a warning: a person should look
    Check("key_missing", "warn", "No key", "the row has no key: the next file of this city cannot find it again",
          _key_missing),
    Check("dbh_unreadable", "warn", "Stem size cannot be read", "the size of the stem cannot be read: unknown",
          _mark("dbh_cm_unread")),
    Check("height_unreadable", "warn", "Height cannot be read", "the height cannot be read: unknown",
          _mark("height_m_unread")),
    Check("crown_unreadable", "warn", "Crown width cannot be read", "the crown width cannot be read: unknown",
          _mark("crown_m_unread")),
    Check("planted_unreadable", "warn", "Planting date cannot be read", "the planting date cannot be read: unknown",
          _mark("planted_unread")),
    Check("measured_unreadable", "warn", "Survey date cannot be read", "the survey date cannot be read: unknown",
          _mark("measured_unread")),
    Check("dbh_zero", "warn", "Stem size zero", "stem size 0 -> unknown", _mark("dbh_cm_zero")),
    Check("height_zero", "warn", "Height zero", "height 0 -> unknown", _mark("height_m_zero")),
    Check("crown_zero", "warn", "Crown width zero", "crown width 0 -> unknown", _mark("crown_m_zero")),
    Check("dbh_tiny", "warn", "Stem thinner than a millimetre", "stem {0:.3f} cm -> unknown",
          _under("dbh_cm"), _shows("dbh_cm"), ("dbh_cm",)),
    Check("height_tiny", "warn", "Lower than ten centimetres", "height {0:.3f} m -> unknown",
          _under("height_m"), _shows("height_m"), ("height_m",)),
    Check("crown_tiny", "warn", "Crown narrower than ten centimetres", "crown width {0:.3f} m -> unknown",
          _under("crown_m"), _shows("crown_m"), ("crown_m",)),
    Check("strip_impossible", "warn", "Growing space wider than any",
          "growing space {0:.1f} m wide -> unknown",
          lambda facts: facts.table.numbers["strip_width_m"] > 200, _shows("strip_width_m"), ("strip_width_m",)),
    Check("dbh_impossible", "warn", "Stem larger than any tree",
          "stem {0:.1f} cm is larger than that of any tree -> unknown",
          lambda facts: facts.table.numbers["dbh_cm"] > THICKEST_CM, _shows("dbh_cm"), ("dbh_cm",)),
    Check("dbh_impossible_for_species", "warn", "Stem impossible for the species",
          "stem {0:.1f} cm is more than twice the {1:.0f} cm believable of {2} -> unknown",
          _dbh_over(2.0, np.inf), _dbh_with, ("dbh_cm",)),
    Check("dbh_suspicious", "warn", "Stem large for the species",
          "stem {0:.1f} cm is more than the {1:.0f} cm believable of {2}: kept", _dbh_over(1.0, 2.0), _dbh_with),
    Check("height_impossible", "warn", "Taller than any tree",
          "height {0:.1f} m is more than that of any tree -> unknown",
          lambda facts: facts.table.numbers["height_m"] > TALLEST_M, _shows("height_m"), ("height_m",)),
    Check("height_suspicious", "warn", "Tall for the species",
          "height {0:.1f} m is more than 1.5 times the mature {1:.0f} m of {2}: kept", _height_over, _height_with),
    Check("height_against_stem", "warn", "Height and stem that do not go together",
          "height {0:.1f} m on a stem of {1:.1f} cm: too slender or too stout for any tree; both kept",
          _disproportion, _shows("height_m", "dbh_cm")),
    Check("crown_impossible", "warn", "Wider than any crown", "crown width {0:.1f} m -> unknown",
          lambda facts: facts.table.numbers["crown_m"] > 80, _shows("crown_m"), ("crown_m",)),
    Check("planted_in_future", "warn", "Planted in the future", "planted {0}, after today -> unknown", _future,
          lambda facts, row: (_iso(facts.table.days["planted_from"][row]),), PLANTED),
    Check("planted_after_survey", "warn", "Planted after it was surveyed",
          "planted {0}, but surveyed {1} -> planting unknown",
          lambda facts: (facts.table.days["measured_on"] > 0)
          & (facts.table.days["planted_from"] > facts.table.days["measured_on"]),
          lambda facts, row: (_iso(facts.table.days["planted_from"][row]), _iso(facts.table.days["measured_on"][row])),
          PLANTED),
    Check("large_for_its_age", "warn", "Stem larger than its age allows",
          "stem {0:.1f} cm, planted {1}: perhaps the date of another tree at the same place, or a wrong size; kept",
          lambda facts: facts.table.numbers["dbh_cm"] > facts.believable_dbh_cm,
          lambda facts, row: (float(facts.table.numbers["dbh_cm"][row]), _iso(facts.table.days["planted_to"][row]))),
    Check("planted_disagrees", "warn", "Two planting dates that disagree",
          "planted {0}, but the year beside it is another -> unknown", _mark("planted_disagrees"),
          lambda facts, row: (_iso(facts.table.days["planted_from"][row]),), PLANTED),
    Check("planted_year_placeholder", "warn", "A year that means unknown",
          "{0} is the planting year of {1} rows and the years about it of hardly any -> unknown",
          lambda facts: facts.placeholder_year,
          lambda facts, row: (_iso(facts.table.days["planted_from"][row])[:4], int(facts.placeholder_year.sum())),
          PLANTED),
    Check("planted_placeholder", "warn", "A date that means unknown",
          "the planting date is the first or last day of a calendar -> unknown", _mark("planted_placeholder")),
    Check("measured_in_future", "warn", "Surveyed in the future", "surveyed {0}, after today -> unknown",
          lambda facts: facts.table.days["measured_on"] > facts.today.toordinal(),
          lambda facts, row: (_iso(facts.table.days["measured_on"][row]),), ("measured_on",)),
    Check("no_species", "warn", "No species", "the row names no species", _no_species),
    Check("name_damaged", "warn", "A name with a number in place of a word",
          "{0!r}: a number stands where a word of the name should be; the text is kept",
          lambda facts: facts.standing & facts.damaged, _text("species")),
    Check("species_unmatched", "warn", "Species not known", "{0!r} is no name of the catalogue; the text is kept",
          _unmatched, _match),
    Check("corrected", "warn", "Taken for a misspelt name", "{0!r} is taken for {1}: some letters or the genus differ",
          lambda facts: facts.standing & facts.how("corrected"), _match),
    Check("code_contradicts", "warn", "Code and name of two species",
          "the code stands for {0!r} on the other rows or in the table of codes: the name {1!r} is kept",
          lambda facts: facts.table.texts["code_says"].filled(),
          lambda facts, row: (facts.table.texts["code_says"].at(row), facts.table.texts["species"].at(row))),
    Check("dbh_class_unreadable", "warn", "Class of stem size cannot be read",
          "the class of the stem's size cannot be read: unknown", _mark("dbh_class_unread")),
    Check("height_class_unreadable", "warn", "Class of height cannot be read",
          "the class of the height cannot be read: unknown", _mark("height_class_unread")),
    Check("dbh_outside_class", "warn", "Stem size outside its own class",
          "stem {0:.1f} cm is not in its class of {1:.1f} to {2:.1f} cm: the class -> unknown, the measured size kept",
          _mark("dbh_class_other"), _shows("dbh_cm", "dbh_low_cm", "dbh_high_cm"), ("dbh_low_cm", "dbh_high_cm")),
    Check("height_outside_class", "warn", "Height outside its own class",
          "height {0:.1f} m is not in its class of {1:.1f} to {2:.1f} m: the class -> unknown, height kept",
          _mark("height_class_other"), _shows("height_m", "height_low_m", "height_high_m"),
          ("height_low_m", "height_high_m")),
    Check("crown_base_unreadable", "warn", "Crown base cannot be read", "the crown base cannot be read: unknown",
          _mark("crown_base_m_unread")),
    Check("below_crown_base", "warn", "Lower than its own crown base",
          "height {0:.1f} m is under its crown base at {1:.1f} m: crown base -> unknown",
          lambda facts: facts.table.numbers["height_m"] < facts.table.numbers["crown_base_m"],
          _shows("height_m", "crown_base_m"), ("crown_base_m",)),
    Check("near_duplicate", "warn", "Perhaps the same tree twice",
          "another row within a metre has the same species and sizes", lambda facts: facts.near_twin),
    Check("several_on_one_point", "warn", "Several trees on one point",
          "{0} rows of the file lie on exactly this point",
          lambda facts: facts.on_point > 1, lambda facts, row: (facts.on_point[row],)),
    Check("stump", "warn", "A stump", "a stump: recorded as felled on or before the day of the load, without a size",
          _is("stump")),
    # noted: nothing to do, but said
    Check("vacant", "note", "A vacant site", "no tree: recorded as a vacant site", _is("vacant")),
    Check("genus_only", "note", "Matched by genus", "{0!r} matched by its genus: {1}",
          lambda facts: facts.standing & facts.how("genus"), _match),
    Check("synonym", "note", "Matched by another Latin name", "{0!r} is {1}",
          lambda facts: facts.standing & facts.how("synonym"), _match),
    Check("common_name", "note", "Matched by its everyday name", "{0!r} is taken for {1}",
          lambda facts: facts.standing & facts.how("common"), _match),
    Check("settled", "note", "Settled by a person before", "{0!r} was settled: {1}",
          lambda facts: facts.standing & facts.how("settled"), _settled),
    Check("from_code", "note", "Species from its code", "the species is told by its code: {0}",
          _mark("species_from_code"), _text("species")),
    Check("same", "note", "In the inventory already", "in the inventory already with the same values",
          lambda facts: facts.same),
)  # fmt: skip
BY_NAME = {check.name: check for check in CHECKS}


def _iso(ordinal: int) -> str:
    return str(np.datetime64(int(ordinal) - 719_163, "D"))
