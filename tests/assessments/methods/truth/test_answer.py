"""The JSON of a comparison: read strictly, every wrong field by its pointer, everything told."""

import json
from typing import Any

import pytest

from assessments.methods.problems import MethodProblem
from assessments.methods.truth import compute
from tests.assessments.methods.dissection.stems import lime

WALLS = [{"azimuth_deg": azimuth, "sound_wall_cm": 11, "method": "drilling"} for azimuth in range(0, 360, 60)]
SECTION = {"diameter_cm": 58, "bark_cm": 1.5, "height_m": 0.5, "readings": WALLS, "draws": 40}
SEAM = {"kind": "seam", "part": "stem", "height_m": 0.7, "azimuth_deg": 0, "measures": {"type": "closed"}}


def test_the_answer_tells_of_every_height_crack_and_sign() -> None:
    found = compute(
        {
            "dissection": lime(),
            "predicted": {
                "sections": [SECTION],
                "findings": [SEAM],
                "tree": {"dbh_cm": 57},
                "likelihood_of_failure": "possible",
            },
        }
    )
    assert len(found["heights"]) == 8
    at = next(one for one in found["heights"] if one["basis"] == "measured")
    assert at["t_over_r"]["predicted"]["low"] <= at["t_over_r"]["predicted"]["best"]
    assert at["t_over_r"]["error"] == pytest.approx(
        at["t_over_r"]["found"] - at["t_over_r"]["predicted"]["best"], abs=2e-4
    )
    assert [one["status"] for one in found["cracks"]] == ["matched"]
    assert found["likelihood_of_failure"]["predicted"] == "possible"
    assert (found["method"], found["version"]) == ("truth_against_judgement", 1)
    assert json.loads(json.dumps(found)) == found


@pytest.mark.parametrize(
    ("request_", "pointer"),
    [
        ({}, "/dissection"),
        ({"dissection": {"cuts": []}}, "/dissection/cuts"),
        ({"dissection": lime(), "guess": 1}, "/guess"),
        ({"dissection": lime(), "predicted": {"sections": [{**SECTION, "bark_cm": -1}]}},
         "/predicted/sections/0/bark_cm"),
        ({"dissection": lime(), "predicted": {"sections": [{**SECTION, "height_m": None}]}},
         "/predicted/sections/0/height_m"),
        ({"dissection": lime(), "predicted": {"sections": [SECTION, SECTION]}}, "/predicted/sections/1/height_m"),
        ({"dissection": lime(), "predicted": {"findings": [{**SEAM, "kind": "hunch"}]}},
         "/predicted/findings/0/kind"),
        ({"dissection": lime(), "predicted": {"likelihood_of_failure": "likely"}},
         "/predicted/likelihood_of_failure"),
        ({"dissection": lime(), "predicted": {"thresholds": {"t_over_r": 3}}}, "/predicted/thresholds/t_over_r"),
        ({"dissection": lime(), "predicted": {"tree": {"dbh_cm": "thick"}}}, "/predicted/tree/dbh_cm"),
    ],
)  # fmt: skip
def test_a_wrong_field_is_named(request_: dict[str, Any], pointer: str) -> None:
    with pytest.raises(MethodProblem) as refused:
        compute(request_)
    assert refused.value.fields[0].pointer == pointer
