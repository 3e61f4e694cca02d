"""What the outside signs missed or invented: cracks by azimuth and height, decay by height."""

import pytest

from assessments.methods.dissection import Rebuilt, read, rebuild
from assessments.methods.findings import Finding
from assessments.methods.section import Crack, Section, circle
from assessments.methods.truth import Comparison, Predicted, compare


def stem(cracks: dict[float, list[float]], hollow: tuple[float, ...] = ()) -> Rebuilt:
    """A stem of 50 cm with cracks 6 cm deep at azimuths by height, and cavities at some heights."""
    return rebuild(
        read(
            {
                "cuts": [
                    {
                        "height_m": height,
                        "diameter_cm": 50,
                        "cracks": [{"azimuth_deg": azimuth, "run_cm": 6} for azimuth in azimuths],
                        "cavities": [{"diameter_cm": 20}] if height in hollow else [],
                    }
                    for height, azimuths in cracks.items()
                ]
            }
        )
    )


def seam(azimuth: float | None, height: float = 1.0, length: float = 60.0) -> Finding:
    return Finding("seam", "stem", None, height, azimuth, {"type": "closed", "length_cm": length})


def statuses(found: Comparison) -> list[str]:
    return sorted(one.status for one in found.cracks)


def test_a_seam_over_a_crack_is_matched_and_the_turn_between_them_told() -> None:
    found = compare(stem({0.8: [], 1.0: [95], 1.2: []}), Predicted(findings=(seam(80),)))
    assert statuses(found) == ["matched"]
    assert found.cracks[0].turn_deg == pytest.approx(15)


@pytest.mark.parametrize(("azimuth", "status"), [(351.0, ["matched"]), (345.0, ["invented", "missed"])])
def test_a_sign_and_a_crack_match_within_thirty_degrees_over_north_too(azimuth: float, status: list[str]) -> None:
    assert statuses(compare(stem({1.0: [20]}), Predicted(findings=(seam(azimuth),)))) == status


def test_a_crack_without_a_sign_was_missed_and_a_sign_without_a_crack_invented() -> None:
    found = compare(stem({1.0: [200]}), Predicted(findings=(seam(20),)))
    assert statuses(found) == ["invented", "missed"]


def test_a_sign_where_nothing_was_cut_is_neither() -> None:
    found = compare(stem({1.0: []}), Predicted(findings=(seam(20, height=4.0),)))
    assert statuses(found) == ["not_opened"]


def test_two_seams_of_one_crack_invent_nothing() -> None:
    found = compare(stem({1.0: [90]}), Predicted(findings=(seam(85), seam(100))))
    assert statuses(found) == ["matched"]


def test_each_crack_goes_to_its_nearest_sign() -> None:
    found = compare(stem({1.0: [90, 130]}), Predicted(findings=(seam(125), seam(95))))
    assert statuses(found) == ["matched", "matched"]
    assert sorted(round(abs(one.turn_deg or 0)) for one in found.cracks) == [5, 5]


def test_a_crack_of_a_measured_section_is_a_prediction_with_a_depth() -> None:
    section = Section(circle(50.0), cracks=(Crack(88.0, 1.0, 18.0),), height_m=1.0, draws=0)
    (one,) = compare(stem({1.0: [90]}), Predicted((section,))).cracks
    assert one.told is not None
    assert (one.status, one.told.kind, one.told.depth_cm) == ("matched", "section", 7.0)


def test_decay_is_matched_by_height_missed_without_a_sign_and_invented_without_decay() -> None:
    body = Finding("fruiting_body", "stem", None, 1.0)
    cuts: dict[float, list[float]] = {0.4: [], 1.0: [], 1.6: [], 2.4: [], 3.0: []}

    def told(hollow: tuple[float, ...]) -> list[str]:
        return sorted(one.status for one in compare(stem(cuts, hollow), Predicted(findings=(body,))).decay)

    assert told((1.0,)) == ["matched"]
    assert told((3.0,)) == ["invented", "missed"]
    assert told((1.0, 3.0)) == ["matched", "missed"]
    assert told(()) == ["invented"]


def test_signs_of_branches_say_nothing_of_the_stem() -> None:
    limb = Finding("cavity", "limb", None, 1.0, 0, {"depth_cm": 10})
    found = compare(stem({1.0: []}), Predicted(findings=(limb,)))
    assert found.decay == ()
    assert found.heights[0].predicted.basis == "nothing"
