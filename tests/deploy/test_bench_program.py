"""The benchmark of the yearly program tells the figures that it promises."""

import json

import pytest

from deploy.bench import program


def test_the_benchmark_tells_gap_seconds_and_both_ratios(capsys: pytest.CaptureFixture[str]) -> None:
    program.run(1_500, as_json=True)
    figures = json.loads(capsys.readouterr().out.splitlines()[-1])
    assert {"gap", "seconds", "ratio_to_worst_first", "ratio_to_greedy", "peak_mib"} <= set(figures)
    assert 0 <= figures["gap"] <= 1e-3
    assert 0 <= figures["with_openings"]["gap"] <= 5e-3
    for ratio in ("ratio_to_worst_first", "ratio_to_greedy"):
        assert figures[ratio] >= 1 - figures["gap"]
