"""Proposes the alternatives that a case allows and works each one out: cost, residual risk, checks, canopy, courses.

Advice to an arborist, who edits, adds and drops; nothing is selected. Local codes and licensed practice come first.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from assessments.methods import growth, harm, money, rate_card, replacement, risk
from assessments.methods.money import Upkeep, present_value
from assessments.methods.policy import ByOccupancy
from assessments.methods.problems import MethodProblem

from . import allowed, courses, effects, load
from .canopy import balance
from .catalogue import ENTRIES, KINDS, Entry
from .contract import Case, Check, Choice, Option, Residual

METHOD: Final = "options"
VERSION: Final = 2

# Actions on what is planted, priced for the smallest tree.
YOUNG: Final = ("plant", "water")
# Each step of managing a veteran takes half of a reduction: project's choice.
VETERAN_SHARE: Final = 0.5
# A tree of unknown size is priced as one of: project's choice.
UNKNOWN_DBH_CM: Final = 40.0
REDUCING: Final = ("reduce_crown", "veteran_management")
FELLING: Final = ("habitat_stem", "remove_and_replant")


def propose(case: Case) -> tuple[Option, ...]:
    """Give the options that a case allows, in the order in which they are considered: the target first."""
    return tuple(build(case, Choice(kind)) for kind in KINDS if allowed.reasons(case, kind))


def build(case: Case, choice: Choice) -> Option:
    """Work out one choice, proposed or the arborist's own. Raises MethodProblem for what it cannot be made with."""
    _check(case, choice)
    entry = ENTRIES[choice.kind]
    percent = _percent(case, choice)
    course = load.course(case, percent, case.assumptions.repeat_years) if percent else None
    found = effects.effects(case, choice, course)
    residual = courses.residuals(case, found)
    terms = _terms(case, choice, entry, percent, residual)
    cost, hours, upkeep = _costs(case, choice, entry, terms)
    present = _present(case, cost, upkeep)
    fitting = _replacements(case, choice)
    canopy, said = balance(case, choice, terms.percent, fitting)
    return Option(
        kind=choice.kind,
        label=entry.label,
        changes=entry.changes,
        says=_says(entry, choice, terms, fitting),
        choice=choice,
        why=allowed.reasons(case, choice.kind) or ("added by hand: nothing in the findings asks for it",),
        cautions=entry.cautions,
        notes=(*_notes(case, choice, terms, course), *said),
        act_by=_act_by(case, entry),
        ends_on=_ends_on(case, choice, terms),
        cost_now=cost,
        crew_hours=hours,
        upkeep=upkeep,
        present=present,
        residual=residual,
        risk=risk.worst([one.risk for one in residual]),
        checks=_checks(case, entry, terms),
        foliage_percent=load.foliage_percent(terms.percent) if terms.percent else None,
        load=course.years if course else (),
        balance=canopy,
        value_lost=_value_lost(case, choice),
        replacements=fitting,
        risk_years=courses.risk_years(courses.harm_by_year(case, found)),
        cost_years=courses.cost_years(present),
        effects=found,
        methods=METHODS,
        currency=case.rates.currency,
    )


METHODS: Final = (
    f"{METHOD}/{VERSION}",
    *(f"{one.METHOD}/{one.VERSION}" for one in (effects, load, risk, harm, money, growth, replacement, rate_card)),
)


@dataclass(frozen=True)
class Terms:
    """The settings of a choice once defaults stand in: share of the crown in % (0: none); months until its check or
    end, and from one inspection to the next by the risk that stays."""

    percent: float
    months: int
    interval: int


def _check(case: Case, choice: Choice) -> None:
    if choice.kind not in ENTRIES:
        raise MethodProblem("/kind", f"must be one of {', '.join(KINDS)}")
    if choice.percent is not None and (choice.kind not in REDUCING or not 0 < choice.percent <= 90):
        detail = "must be more than 0 and at most 90" if choice.kind in REDUCING else "is of a crown reduction only"
        raise MethodProblem("/settings/percent", detail)
    if choice.months is not None and not 1 <= choice.months <= 120:
        raise MethodProblem("/settings/months", "must be 1 to 120")
    for name, places, count in (
        ("targets", choice.targets, len(case.targets)), ("findings", choice.findings, len(case.findings)),
    ):  # fmt: skip
        if any(not 0 <= place < count for place in places or ()):
            raise MethodProblem(f"/settings/{name}", f"must be places of its {name}")
    for place, words in choice.own.residual.items():
        _check_words(case, place, words)


def _check_words(case: Case, place: int, words: tuple[str, str, str]) -> None:
    if not 0 <= place < len(case.ratings):
        raise MethodProblem("/own/residual", "must be for places of its ratings")
    for scale, word in zip((risk.FAILURE, risk.IMPACT, risk.CONSEQUENCES), words, strict=True):
        if word not in scale:
            raise MethodProblem("/own/residual", f"{word!r} is not one of {', '.join(scale)}")


def _terms(case: Case, choice: Choice, entry: Entry, percent: float, residual: Sequence[Residual]) -> Terms:
    interval = interval_months(case, _lasting(residual))
    if choice.kind == "retain_and_monitor" and choice.months:
        interval = choice.months
    return Terms(percent, choice.months or _months(case, entry.check_months) or interval, interval)


def _percent(case: Case, choice: Choice) -> float:
    if choice.kind not in REDUCING:
        return 0.0
    whole = case.assumptions.reduction_percent
    return choice.percent or (whole if choice.kind == "reduce_crown" else whole * VETERAN_SHARE)


def _months(case: Case, text: str) -> int:
    """Read the months of a check; 0 stands for the interval of the policy."""
    return case.assumptions.closure_months if text == "closure" else int(text) if text.isdigit() else 0


def _lasting(residual: Sequence[Residual]) -> str:
    """Give the worst risk of any year of an option."""
    return risk.worst([word for one in residual for word in (one.risk, one.later_risk)])


def interval_months(case: Case, risk_word: str) -> int:
    """Give the policy's months until the next inspection, by a risk and the busiest target as it stands."""
    words = [case.targets[rated.target].occupancy for rated in case.ratings]
    busiest = max((risk.code(risk.OCCUPANCY, word) for word in words), default=risk.UNKNOWN)
    table: ByOccupancy = {
        "low": case.policy.low_months, "moderate": case.policy.moderate_months, "": case.policy.unrated_months,
    }.get(risk_word, case.policy.high_months)  # fmt: skip
    # Extreme risk is acted on; who retains it all the same looks within the month.
    return 1 if risk_word == "extreme" else int(table[busiest])


def _costs(case: Case, choice: Choice, entry: Entry, terms: Terms) -> tuple[float, float, tuple[Upkeep, ...]]:
    """Give cost and crew hours now and the upkeep, from the rate card; what the arborist set wins."""
    now = [one for one in entry.now if case.site.replant or one not in YOUNG]
    later = [one for one in entry.upkeep if case.site.replant or one[0] not in YOUNG]
    rates = [rate_of(case, action) for action in now]
    own = choice.own
    cost = sum(one.cost for one in rates) if own.cost_now is None else own.cost_now
    hours = sum(one.crew_hours for one in rates) if own.crew_hours is None else own.crew_hours
    upkeep = tuple(_upkeep(case, terms, one) for one in later) if own.upkeep is None else own.upkeep
    return float(cost), float(hours), upkeep


def _present(case: Case, cost: float, upkeep: tuple[Upkeep, ...]) -> money.PresentValue:
    rate = Decimal(repr(case.assumptions.discount_rate_percent)) / 100
    return present_value(Decimal(repr(cost)), upkeep, case.assumptions.horizon_years, rate)


def rate_of(case: Case, action: str) -> rate_card.Rate:
    """Give the rate of an action on the tree of a case."""
    dbh = UNKNOWN_DBH_CM if case.tree.dbh_cm is None else case.tree.dbh_cm
    return case.rates.rate(action, 0.0 if action in YOUNG else dbh, case.site.access)


def _upkeep(case: Case, terms: Terms, of: tuple[str, str, str, str]) -> Upkeep:
    action, every, first, last = of
    years = {"repeat": case.assumptions.repeat_years, "interval": max(round(terms.interval / 12), 1)}
    between = years[every] if every in years else int(every)
    cost = Decimal(repr(rate_of(case, action).cost))
    if every == "interval" and terms.interval < 12:
        # Looked at more than once a year: all of a year's looks fall due at its end.
        cost = cost * 12 / terms.interval
    return Upkeep(action, cost, between, int(first) if first else None, int(last) if last else None)


def _replacements(case: Case, choice: Choice) -> tuple[replacement.Judged, ...]:
    if choice.kind != "remove_and_replant" or not case.site.replant:
        return ()
    fitting = replacement.suggest(case.site.place, case.candidates, case.population)
    if not choice.species:
        return fitting
    named = [one for one in case.candidates if one.name == choice.species]
    if not named:
        raise MethodProblem("/settings/species", "is not among the candidates")
    chosen = replacement.judge(named[0], case.site.place, case.population)
    return (chosen, *(one for one in fitting if one.candidate.name != choice.species))


def _says(entry: Entry, choice: Choice, terms: Terms, fitting: tuple[replacement.Judged, ...]) -> str:
    if choice.kind == "veteran_management":
        return f"{entry.label}, in steps of {terms.percent:g} % of the crown's length and width"
    if choice.kind == "reduce_crown":
        return f"{entry.label} by {terms.percent:g} % of its length and width"
    if choice.kind == "temporary_closure":
        return f"{entry.label}: {terms.months} months"
    if choice.kind == "retain_and_monitor":
        return f"{entry.label}, look again in {terms.months} months"
    if fitting:
        return f"{entry.label} with {fitting[0].candidate.name}"
    return entry.label


def _notes(case: Case, choice: Choice, terms: Terms, course: load.Course | None) -> tuple[str, ...]:
    notes: list[str] = []
    if terms.percent:
        notes.append(load.foliage_note(terms.percent))
        years, speed = case.assumptions.repeat_years, case.assumptions.regrowth_m_a_year
        notes.append(f"Cut again every {years} years; the crown grows back by {speed:g} m a year (project's choice).")
        notes += course.notes if course else ()
    if terms.interval < 12 and any(one[1] == "interval" for one in ENTRIES[choice.kind].upkeep):
        notes.append(f"Looked at every {terms.interval} months: each look of a year is counted.")
    if case.tree.dbh_cm is None:
        notes.append(f"The stem is not measured: priced as one of {UNKNOWN_DBH_CM:g} cm.")
    if choice.kind == "remove_and_replant" and not case.site.replant:
        notes.append("The site is not to be replanted.")
    return tuple(notes)


def _act_by(case: Case, entry: Entry) -> date | None:
    """Give the policy's day for high and extreme risk, today once that has passed; retaining has none."""
    days = {"extreme": case.policy.act_by_days_extreme, "high": case.policy.act_by_days_high}.get(case.risk)
    if days is None or entry.changes == "nothing":
        return None
    return max((case.rated_on or case.today) + timedelta(days=days), case.today)


def _ends_on(case: Case, choice: Choice, terms: Terms) -> date | None:
    if choice.kind in ("temporary_closure", "retain_and_monitor"):
        return months_on(case.today, terms.months)
    return None


def months_on(day: date, months: int) -> date:
    """Give the day so many months on, the month's last day where it is shorter.

    >>> months_on(date(2026, 11, 30), 3)
    datetime.date(2027, 2, 28)
    """
    years, month = divmod(day.month - 1 + months, 12)
    first = date(day.year + years, month + 1, 1)
    last = (date(first.year + first.month // 12, first.month % 12 + 1, 1) - timedelta(days=1)).day
    return first.replace(day=min(day.day, last))


def _checks(case: Case, entry: Entry, terms: Terms) -> tuple[Check, ...]:
    if not entry.check:
        return ()
    return (Check(entry.check, months_on(case.today, terms.months), f"{entry.label.lower()}: committed to"),)


def _value_lost(case: Case, choice: Choice) -> float | None:
    if case.tree.value is None:
        return None
    return case.tree.value if choice.kind in FELLING else 0.0
