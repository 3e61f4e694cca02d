"""The risk of one part and one target from a JSON request, by the two published matrices, cell by cell."""

from typing import Any, Final

from . import risk
from .request import Fields

METHOD: Final = risk.METHOD
VERSION: Final = risk.VERSION

FIELDS: Final = (
    "likelihood_of_failure", "likelihood_of_impact", "occupancy", "exposure", "fall_direction", "consequences",
)  # fmt: skip
ADVICE: Final = (
    "Advice to a qualified assessor: the rating is for one part and one target within the time frame stated."
)


def compute(request: dict[str, Any]) -> dict[str, Any]:
    """Compute a risk rating from a JSON request. Raises MethodProblem that names the wrong fields.

    >>> words = {"likelihood_of_failure": "probable", "likelihood_of_impact": "high", "consequences": "severe"}
    >>> compute(words)["risk"]
    'high'
    """
    fields = Fields(request, "", FIELDS)
    failure = _word(fields, "likelihood_of_failure", risk.FAILURE)
    impact, basis, reason = _impact(fields)
    consequences = _word(fields, "consequences", risk.CONSEQUENCES)
    return {
        "failure_and_impact": risk.failure_and_impact(failure, impact),
        "risk": risk.rate(failure, impact, consequences),
        "likelihood_of_impact": impact,
        "impact_basis": basis,
        "impact_reason": reason,
        "notes": [ADVICE],
        "method": METHOD,
        "version": VERSION,
    }


def _word(fields: Fields, name: str, words: tuple[str, ...]) -> str:
    if not fields.has(name):
        raise fields.wrong(name, f"is missing: one of {', '.join(words)}")
    return fields.choice(name, words, "")


def _impact(fields: Fields) -> tuple[str, str, str]:
    """Give the likelihood of impact, as given or from occupancy and exposure; its basis and reason."""
    guided = [name for name in ("occupancy", "exposure", "fall_direction") if fields.has(name)]
    if fields.has("likelihood_of_impact"):
        if guided:
            raise fields.wrong(guided[0], "is given beside likelihood_of_impact: give one")
        return _word(fields, "likelihood_of_impact", risk.IMPACT), "given", "as given"
    if not guided:
        raise fields.wrong("likelihood_of_impact", "is missing: give it, or occupancy and exposure")
    occupancy, exposure = _word(fields, "occupancy", risk.OCCUPANCY), _word(fields, "exposure", risk.EXPOSURE)
    found = risk.impact_from(occupancy, exposure, fields.choice("fall_direction", risk.FALL_DIRECTION, "unknown"))
    return found.word, found.basis, found.reason
