"""The case of an inspected tree as methods/options takes it, from the rows of the inspection, the tree and the city."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.core.cache import cache
from django.db.models import Count, Prefetch

from assessments import inputs, stem_loads
from assessments.methods import appraisal, options
from assessments.methods.findings import Finding as Seen
from assessments.methods.mechanics import Climate
from assessments.methods.options import Assumptions, Case, Rated, Standing, Target
from assessments.methods.policy import Policy
from assessments.methods.population import Population
from assessments.methods.problems import MethodProblem
from assessments.methods.rate_card import Appraised, RateCard
from assessments.methods.replacement import Candidate, Place
from assessments.models import DecayGrowth, Finding, Inspection, Rating, Section, SectionResult, StemLoad
from assessments.models import Target as TargetRow
from assessments.models.target import PEOPLE_KINDS
from inventory.models import Species, Tree
from inventory.models.tree import STANDING

PALMS: Final = "Arecaceae"
_COUNTED: Final = "species_standing"
# Counting a city takes a moment and changes little by the hour.
_KEPT_SECONDS: Final = 600
_DAYS_A_YEAR: Final = 365.25
_SEEN: Final = ("kind", "part", "part_diameter_cm", "height_m", "azimuth_deg", "measures", "fungus_genus")


@dataclass(frozen=True)
class Terms:
    """By what a case is priced: the rate card with its number, the policy, the day, how the tree is reached."""

    rates: RateCard
    rate_card_version: int
    policy: Policy
    today: date
    access: str = "ordinary"


def inspected(pk: int) -> Inspection:
    """An inspection with all that its case needs, in a fixed number of statements."""
    sections = Section.objects.order_by("pk").prefetch_related(
        Prefetch("results", SectionResult.objects.order_by("-pk"))
    )
    whole = Inspection.objects.select_related("tree__species", "tree__site", "stem_load").prefetch_related(
        Prefetch("findings", Finding.objects.order_by("pk")),
        Prefetch("targets", TargetRow.objects.order_by("pk")),
        Prefetch("ratings", Rating.objects.order_by("pk")),
        Prefetch("sections", sections),
        Prefetch("decay_growths", DecayGrowth.objects.filter(banded=True, finding__isnull=False).order_by("pk")),
    )
    return whole.get(pk=pk)


def case_of(inspection: Inspection, terms: Terms) -> Case:
    """The case of an inspection read by `inspected`: places are those of findings, targets and ratings by key."""
    findings, targets = list(inspection.findings.all()), list(inspection.targets.all())
    place_of = {one.pk: place for place, one in enumerate(findings)}
    struck = {one.pk: place for place, one in enumerate(targets)}
    candidates, population = planted()
    return Case(
        findings=tuple(seen(one) for one in findings),
        targets=tuple(_target(one) for one in targets),
        ratings=tuple(
            Rated(
                one.part,
                struck[one.target_id],
                one.failure,
                one.impact,
                one.consequences,
                None if one.finding_id is None else place_of[one.finding_id],
            )
            for one in inspection.ratings.all()
        ),
        tree=_standing(inspection, terms),
        site=_site(inspection.tree, terms.access),
        rates=terms.rates,
        policy=terms.policy,
        today=terms.today,
        frame_years=inspection.frame_years or 3,
        assumptions=Assumptions(**terms.rates.assumptions),
        candidates=candidates,
        population=population,
        rated_on=inspection.inspected_on,
    )


def seen(one: Finding) -> Seen:
    """A stored finding as the methods take it."""
    return Seen(**{name: getattr(one, name) for name in _SEEN}, fungus_confidence=one.fungus_confidence or "")


def _target(one: TargetRow) -> Target:
    return Target(
        label=one.label,
        occupancy=one.occupancy,
        exposure=one.exposure,
        fall_direction=one.fall_direction,
        movable=one.movable,
        restrictable=one.restrictable,
        people=one.kind in PEOPLE_KINDS,
    )


def _standing(inspection: Inspection, terms: Terms) -> Standing:
    tree = inspection.tree
    species = tree.species
    load = _stem_load(inspection)
    facts = inputs.facts(tree)
    measured: Mapping[str, Any] = load.measured if load else {}
    return Standing(
        species=species.botanical_name if species else "",
        genus=species.genus if species else "",
        family=species.family if species else "",
        dbh_cm=tree.dbh_cm,
        height_m=tree.height_m,
        crown_base_m=measured.get("crown_base_m"),
        crown_width_m=tree.crown_m or measured.get("crown_width_m"),
        age_years=_age(tree, terms.today),
        conifer=facts.conifer,
        palm=bool(species and (species.palm or species.family == PALMS)),
        evergreen=bool(species and species.evergreen),
        dead=facts.dead,
        load=_loaded(load),
        climate=_climate(load),
        value=_value(tree, terms.rates.appraisal),
        decay_chance=_decay_chance(inspection),
    )


def _decay_chance(inspection: Inspection) -> dict[int, tuple[float, ...]]:
    """The chance by year that the decay at a finding crosses its threshold, by place of the finding; newest version."""
    place = {one.pk: number for number, one in enumerate(inspection.findings.all())}
    return {
        place[one.finding_id]: tuple(share / 100 for share in one.result["band"]["crossed_percent"])
        for one in inspection.decay_growths.all()
        if one.finding_id is not None
    }


def _age(tree: Tree, today: date) -> float | None:
    return (today - tree.planted_from).days / _DAYS_A_YEAR if tree.planted_from else None


def _stem_load(inspection: Inspection) -> StemLoad | None:
    return getattr(inspection, "stem_load", None)


def _loaded(load: StemLoad | None) -> Any:
    """The stem load as the methods read it; None where they, as they are now, refuse it."""
    if load is None:
        return None
    try:
        return stem_loads.tree_of(load.measured, load.filled, stem_loads.looked(load))
    except MethodProblem:
        return None


def _climate(load: StemLoad | None) -> Climate | None:
    known = load.filled["gust_climate"] if load else None
    return None if known is None else Climate(known["one_year_m_s"], known["fifty_year_m_s"])


def _value(tree: Tree, by: Appraised | None) -> float | None:
    if by is None or tree.dbh_cm is None or tree.state == "dead":
        return None
    area = appraisal.trunk_area_cm2(tree.dbh_cm)
    return appraisal.appraise_10th(area, by.unit_cost_per_cm2, by.condition, by.functional, by.external).value


def _site(tree: Tree, access: str) -> options.Site:
    site = tree.site
    if site is None:
        return options.Site(access=access)
    place = Place(
        overhead_lines=site.overhead_lines, growing_space=site.growing_space, strip_width_m=site.strip_width_m
    )
    return options.Site(access=access, place=place)


def planted() -> tuple[tuple[Candidate, ...], Population]:
    """The species that stand in the city, which may be planted again, and their shares; counted every ten minutes."""
    found: tuple[tuple[Candidate, ...], Population] | None = cache.get(_COUNTED)
    if found is None:
        found = _count()
        cache.set(_COUNTED, found, _KEPT_SECONDS)
    return found


def _count() -> tuple[tuple[Candidate, ...], Population]:
    standing = Tree.objects.filter(state__in=STANDING, species__isnull=False).order_by()
    counts = {row["species"]: row["trees"] for row in standing.values("species").annotate(trees=Count("pk"))}
    rows = list(Species.objects.filter(pk__in=counts).order_by("botanical_name"))
    shares: dict[str, dict[str, int]] = {"species": {}, "genus": {}, "family": {}}
    for row in rows:
        for rank, name in (("species", row.botanical_name), ("genus", row.genus), ("family", row.family)):
            shares[rank][name] = shares[rank].get(name, 0) + counts[row.pk]
    candidates = tuple(_candidate(row) for row in rows if row.rank != "genus")
    return candidates, Population(sum(counts.values()), shares["species"], shares["genus"], shares["family"])


def _candidate(row: Species) -> Candidate:
    return Candidate(
        row.botanical_name,
        row.genus,
        row.family,
        row.mature_height_m,
        row.mature_crown_m,
        row.root_tolerance,
        row.palm or row.family == PALMS,
    )
