"""The benchmarks run on a database of their own and end with one JSON object."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from deploy.bench import city, scratch

ROOT = Path(__file__).resolve().parents[2]


def test_the_intake_benchmark_ends_with_its_figures() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "deploy.bench", "intake", "--scale", "1000", "--json"],
        cwd=ROOT,
        env=os.environ | {"LOG_LEVEL": "ERROR"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    figures = json.loads(done.stdout.splitlines()[-1])
    assert (figures["name"], figures["scale"]) == ("intake", 1000)
    load, copy = sorted(figures["seconds"]["load"]), sorted(figures["seconds"]["copy"])
    assert len(load) == len(copy) == 3
    assert figures["ratio"] == pytest.approx(load[1] / copy[1], rel=0.05)
    # One row in a hundred has a size of zero, one in a thousand no latitude.
    assert figures["counts"]["reasons"]["dbh_zero"] == 10
    assert (figures["counts"]["rows"], figures["counts"]["trees"]) == (1000, 999)
    assert figures["peak_mib"] > 10


def test_an_unknown_benchmark_is_refused() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "deploy.bench", "speed"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "invalid choice" in done.stderr


def test_the_invented_city_is_the_same_for_the_same_seed(tmp_path: Path) -> None:
    one, two = city.invent(500), city.invent(500)
    assert all((getattr(one, name) == getattr(two, name)).all() for name in ("longitude", "dbh_cm", "species"))
    city.write_csv(tmp_path / "a.csv", 500)
    city.write_csv(tmp_path / "b.csv", 500)
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


def test_the_address_of_a_scratch_database_keeps_the_server() -> None:
    url = "postgres://app:secret@/city?host=/run/sock&port=5433"
    assert scratch.renamed(url, "other") == "postgres://app:secret@/other?host=/run/sock&port=5433"
    assert scratch.renamed("postgres://app@db.example/city", "other") == "postgres://app@db.example/other"
