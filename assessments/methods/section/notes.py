"""What an answer about a section must say beside its numbers: limits of the method, cautions, how it was understood."""

from typing import TYPE_CHECKING, Final

from .uncertainty import draws_of

if TYPE_CHECKING:
    from .answer import Answer

METHOD: Final = "section_notes"
VERSION: Final = 1

ALWAYS: Final = (
    "Plane bending only: longitudinal shear, torsion, shell buckling and a piece that carries its load alone lie"
    " outside these bounds.",
    "Advice to a qualified person, never a verdict that a tree is safe; local codes and licensed practice come first.",
)


def notes_for(answer: "Answer") -> tuple[str, ...]:
    """Give the notes of an answer, the particular ones first."""
    return (*_measured(answer), *_tube(answer), *_pieces(answer), *_figures(answer), *_draws(answer), *ALWAYS)


def _measured(answer: "Answer") -> list[str]:
    section, found = answer.section, []
    if not section.readings and not section.voids and not section.openings:
        found.append("Nothing was measured inside: the section is taken as sound, which nobody has seen.")
    if not section.readings:
        found.append("No wall reading: the interval holds no error of measuring, only the pieces' composite action.")
    reaches = section.outline.reach_cm(section.azimuths_deg).tolist() if section.readings else []
    if any(r.sound_wall_cm > reach for r, reach in zip(section.readings, reaches, strict=True)):
        found.append(
            "A wall that goes on beyond the centre is kept as read; it says nothing of the far side's own readings."
        )
    if 0 < len(section.readings) < 6:
        found.append(
            "Fewer than 6 readings: a pocket of rot between them can be missed altogether, and the interval may be too"
            " narrow. On invented cavities of kinds that it was not set on, an 80 % interval from 4 readings held the"
            " loss 70 times in 100; from 8 or 12 readings 80 times."
        )
    return found


def _draws(answer: "Answer") -> list[str]:
    asked, used = answer.section.draws, draws_of(answer.section)
    if not used:
        return []
    fewer = (
        f", not on {asked}: each draw of cracks, drawn voids or several openings is cut anew" if used < asked else ""
    )
    return [f"The interval rests on {used} draws{fewer}."]


def _tube(answer: "Answer") -> list[str]:
    if answer.closed or answer.bounds.parted:
        return []
    ratio = answer.torsion_ratio
    left = "" if ratio is None else f": about {100 * ratio:.2g} % of the torsional stiffness of the closed tube is left"
    return [
        f"The ring of wood is not closed{left}. The loss shown is that of bending alone; strength is lost beyond it."
    ]


def _pieces(answer: "Answer") -> list[str]:
    now, then = len(answer.bounds.pieces), len(answer.bounds.run_on)
    if now > 1:
        return [
            f"The section is parted into {now} pieces. The best estimate lets each bend by itself with one curvature;"
            " the interval begins with full composite action.",
            "A piece that parts from the others and carries its load alone is weaker than either bound.",
        ]
    if then > 1:
        return [f"If the loose ends of the cracks run on, the section parts into {then} pieces; the interval spans it."]
    return []


def _figures(answer: "Answer") -> list[str]:
    found = []
    coder = 100 * (1 - answer.bounds.shape.area_cm2 / answer.sound.area_cm2) ** 2
    best = answer.loss_percent.best_estimate
    if best - coder > 10:
        found.append(
            f"Asymmetric: a concentric hollow of the same area would lose {coder:.0f} %, this one {best:.0f} %."
        )
    if best <= 0 and answer.bounds.shape.area_cm2 < answer.sound.area_cm2 * 0.9999:
        found.append(
            "The modulus is not below the sound one although wood is missing: the neutral axis moved."
            " This is no gain in strength."
        )
    return found
