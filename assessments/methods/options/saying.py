"""Says options and their comparison as JSON: plain values, dates as text, units in the names."""

from collections.abc import Sequence
from typing import Any, Final

from assessments.methods.growth import Balance
from assessments.methods.money import Upkeep, cents
from assessments.methods.replacement import Judged

from .compare import Compared, compare
from .contract import Choice, LoadYear, Option, Residual

METHOD: Final = "options_as_json"
VERSION: Final = 1


def as_json(option: Option) -> dict[str, Any]:
    """Say one option as a JSON object."""
    return {
        "kind": option.kind,
        "label": option.label,
        "says": option.says,
        "changes": option.changes,
        "settings": _settings(option.choice),
        "why": list(option.why),
        "cautions": list(option.cautions),
        "notes": list(option.notes),
        "act_by": option.act_by.isoformat() if option.act_by else None,
        "ends_on": option.ends_on.isoformat() if option.ends_on else None,
        "cost_now": round(option.cost_now, 2),
        "crew_hours": round(option.crew_hours, 2),
        "upkeep": [_upkeep(one) for one in option.upkeep],
        "present_value": float(option.present.total),
        "present_value_of_upkeep": float(option.present.upkeep),
        "horizon_years": option.present.horizon_years,
        "discount_rate_percent": float(option.present.rate * 100),
        "risk": option.risk,
        "residual": [_residual(one) for one in option.residual],
        "checks": [{"kind": one.kind, "due_on": one.due_on.isoformat(), "why": one.why} for one in option.checks],
        "foliage_percent": _range(option.foliage_percent),
        "load": [_load(one) for one in option.load],
        "canopy": None if option.balance is None else _balance(option.balance),
        "value_lost": None if option.value_lost is None else round(option.value_lost, 2),
        "replacements": [_species(one) for one in option.replacements],
        "risk_years": [
            {"year": one.year, "low": _short(one.low), "central": _short(one.central), "high": _short(one.high)}
            for one in option.risk_years
        ],
        "cost_years": [
            {"year": one.year, "cost": round(one.cost, 2), "present_so_far": one.present_so_far}
            for one in option.cost_years
        ],
        "methods": list(option.methods),
    }


def _short(value: float) -> float:
    return float(f"{value:.6g}")


def _range(ends: tuple[float, float] | None) -> dict[str, float] | None:
    return None if ends is None else {"low": ends[0], "high": ends[1]}


def _settings(choice: Choice) -> dict[str, Any]:
    """Say what was set by hand; a member that is missing is as the catalogue and the city have it."""
    given = {
        "percent": choice.percent,
        "months": choice.months,
        "targets": None if choice.targets is None else list(choice.targets),
        "findings": None if choice.findings is None else list(choice.findings),
        "species": choice.species or None,
    }
    return {name: value for name, value in given.items() if value is not None}


def _upkeep(one: Upkeep) -> dict[str, Any]:
    return {
        "what": one.what,
        "cost": float(cents(one.cost)),
        "every_years": one.every_years,
        "first_year": one.first_year,
        "last_year": one.last_year,
    }


def _residual(one: Residual) -> dict[str, Any]:
    return {
        "rating": one.rating,
        "part": one.part,
        "target": one.target,
        "failure": one.failure,
        "impact": one.impact,
        "consequences": one.consequences,
        "risk_before": one.risk_before,
        "risk": one.risk,
        "holds_years": one.holds_years,
        "later_risk": one.later_risk,
        "why": one.why,
    }


def _load(one: LoadYear) -> dict[str, Any]:
    low, best, high = (None, None, None) if one.safety is None else one.safety
    return {
        "year": one.year,
        "moment_reduced_percent": round(one.moment_reduced_percent, 2),
        "safety_factor": None
        if one.safety is None
        else {"low": _finite(low), "best": _finite(best), "high": _finite(high)},
        "critical_gust_m_s": _finite(one.gust_m_s),
        "likelihood_of_failure": one.category,
    }


def _finite(value: float | None, most: float = 999.0) -> float | None:
    return None if value is None else _short(min(value, most))


def _balance(one: Balance) -> dict[str, Any]:
    return {
        "lost_m2": round(one.canopy_lost_m2, 2),
        "lost_m2_years": round(one.canopy_lost_m2_years, 1),
        "regained_year": one.regained_year,
        "carbon_lost_kg": round(one.carbon_lost_kg, 1),
        "carbon_short_kg": round(one.carbon_short_kg, 1),
        "years": [
            {
                "year": row.year,
                "kept_m2": round(row.canopy_kept_m2, 2),
                "m2": round(row.canopy_m2, 2),
                "low_m2": round(row.canopy_low_m2, 2),
                "high_m2": round(row.canopy_high_m2, 2),
                "carbon_kept_kg": round(row.carbon_kept_kg, 1),
                "carbon_kg": round(row.carbon_kg, 1),
            }
            for row in one.rows
        ],
        "notes": list(one.notes),
    }


def _species(one: Judged) -> dict[str, Any]:
    return {
        "species": one.candidate.name,
        "fits": one.fits,
        "reasons": list(one.reasons),
        "against": list(one.against),
        "genus_share_percent": round(100 * one.genus_share, 2),
    }


def compared_as_json(options: Sequence[Option]) -> list[dict[str, Any]]:
    """Compare options and say each one's measures and what dominates it, in their order."""
    return [_compared(one) for one in compare(options)]


def _compared(one: Compared) -> dict[str, Any]:
    found = one.measures
    return {
        "kind": one.option.kind,
        "says": one.option.says,
        "present_value": found.present,
        "crew_hours": round(one.option.crew_hours, 2),
        "harm": {"low": _short(found.harm_low), "central": _short(found.harm_central), "high": _short(found.harm_high)},
        "risk": found.risk,
        "canopy_short_m2_years": None if found.canopy_short_m2_years is None else round(found.canopy_short_m2_years, 1),
        "value_lost": found.value_lost,
        "dominated_by": list(one.dominated_by),
        "reasons": list(one.reasons),
        "method": one.method,
        "version": one.version,
    }
