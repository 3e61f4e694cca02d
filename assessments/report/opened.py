"""The pictures of an opened stem: rebuilt, its cracks along the height, each cut beside what was predicted."""

from dataclasses import dataclass

from assessments import dissections, truths
from assessments.methods.problems import MethodProblem
from assessments.models import Dissection
from assessments.report.drawing import crack_depth, profile, truth_section


@dataclass(frozen=True)
class Pictures:
    """SVG documents; `cracks` is empty where no crack was found or foretold, `cuts` goes by height from below."""

    stem: str
    cracks: str
    cuts: tuple[tuple[float, str], ...]


def pictures(one: Dissection) -> Pictures | None:
    """Draw a dissection read with its cuts; None while it has none, or where the methods now refuse them."""
    asked = dissections.of(one)
    if asked is None:
        return None
    try:
        rebuilt = dissections.rebuild(asked)
        compared = truths.held_against(one, rebuilt, truths.judged([one]).get(one.pk))
    except MethodProblem:
        return None
    cuts = tuple(
        (height.face.cut.height_m, truth_section.draw(height, f"cut-{place}"))
        for place, height in enumerate(compared.heights)
    )
    return Pictures(profile.draw(rebuilt.stem), crack_depth.draw(compared) if compared.cracks else "", cuts)
