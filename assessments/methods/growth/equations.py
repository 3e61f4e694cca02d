"""The forms of the published growth equations, and one equation with its range and the scatter of its own trees.

Source: McPherson, van Doorn and Peper 2016, Urban Tree Database, GTR PSW-253 and RDS-2016-0005 with the errata of 2020.
"""

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

METHOD: Final = "growth_equation_forms"
VERSION: Final = 1

Numbers: TypeAlias = npt.NDArray[np.float64]

POLYNOMIALS: Final = {"lin": 1, "quad": 2, "cub": 3, "quart": 4}
# The digit at the end of a name weights the mean square error, which the tables hold in column c.
WEIGHTED: Final = ("loglogw1", "loglogw2", "loglogw3", "loglogw4", "expow1", "expow2", "expow3", "expow4")
# Our own fit to many species at once: the median, without a term for the error.
POOLED: Final = "loglog"
FORMS: Final = (*POLYNOMIALS, *WEIGHTED, POOLED)


def evaluate(form: str, coefficients: tuple[float, ...], x: npt.ArrayLike) -> Numbers:
    """Give y of a form with coefficients a to e at x (n,), age in years or dbh in cm. Raises ValueError for no form.

    Of loglogw1 half the mean square error stands inside the outer logarithm, as its published maxima show.

    >>> evaluate("quad", (2.80359, 1.29151, -0.00299), 33.0).round(2).tolist()
    42.17
    """
    if form not in FORMS:
        raise ValueError(f"form: {form!r} is not one of {', '.join(FORMS)}")
    at = np.asarray(x, np.float64)
    if form in POLYNOMIALS:
        return np.asarray(np.polynomial.polynomial.polyval(at, coefficients[: POLYNOMIALS[form] + 1]))
    a, b = coefficients[:2]
    half = coefficients[2] / 2 if form != POOLED else 0.0
    if form == "loglogw1":
        return np.asarray(np.exp(a + b * np.log(np.log(at + 1) + half)))
    weight = {"1": np.ones_like(at), "2": np.sqrt(at), "3": at, "4": at * at}.get(form[-1], np.zeros_like(at))
    core = a + b * at if form.startswith("expow") else a + b * np.log(np.log(at + 1))
    return np.asarray(np.exp(core + weight * half))


@dataclass(frozen=True)
class Equation:
    """One equation: y within least..most for x within its range; y times `low`..`high` holds 80 % of its own trees.

    `standing`: published, unchecked (published, its trees not among the raw ones), refit (to the raw trees, where the
    printed digits do not carry), capped (by the publisher's own maximum) or pooled (ours: all broadleaves, conifers).
    """

    kind: str
    region: str
    species: str
    form: str
    coefficients: tuple[float, ...]
    x_least: float
    x_most: float
    y_least: float
    y_most: float
    trees: int
    low: float
    high: float
    standing: str

    def at(self, x: npt.ArrayLike) -> Numbers:
        """Give y at x, both held within their ranges."""
        held = np.clip(np.asarray(x, np.float64), self.x_least, self.x_most)
        return np.clip(evaluate(self.form, self.coefficients, held), self.y_least, self.y_most)
