"""`manage.py intake`: plain output, JSON on demand, one problem and exit code 2 for bad input."""

import csv
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.intake import mapping as mappings
from inventory.models import IntakeLoad, Tree
from tests.support import build, intake
from tests.support.intake import species as species

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("species")]


@pytest.fixture
def trees(tmp_path: Path) -> Path:
    rows = [
        intake.row(number, lat=f"{build.LAT + number * 0.00013:.6f}", dbh=3 + number % 30, height=15 + number % 40)
        for number in range(1, 200)
    ]
    return intake.write(tmp_path / "trees.csv", [*rows, intake.row(200, lat="")])


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "map.toml"
    path.write_text(intake.MAPPING)
    return path


def run(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    call_command("intake", *map(str, words))
    return capsys.readouterr().out


def refused(*words: object) -> str:
    with pytest.raises(CommandError) as error:
        call_command("intake", *map(str, words))
    assert error.value.returncode == 2
    return str(error.value)


def test_the_four_steps_one_after_the_other(trees: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written, report = tmp_path / "suggested.toml", tmp_path / "report.csv"
    told = run(capsys, "survey", trees, "--write", written)
    assert "trees.csv: 200 rows, 9 columns" in told
    assert mappings.parse(written.read_text()).of("dbh")[0].unit == "in"
    told = run(capsys, "check", trees, "--map", written, "--report", report)
    assert "rows 200, accepted 199, warned 0, refused 1" in told
    assert "No coordinates (line 201: the row has no coordinates)" in told
    with report.open(encoding="utf-8", newline="") as file:
        (line,) = list(csv.DictReader(file))
    assert (line["line"], line["verdict"], line["reasons"], line["id"]) == ("201", "refused", "no_coordinates", "T200")
    assert line["lon"].startswith("-29.4")
    assert Tree.objects.count() == 0
    run(capsys, "load", trees, "--map", written)
    assert Tree.objects.count() == 199
    assert "nothing was changed" in run(capsys, "load", trees, "--map", written)
    run(capsys, "undo", IntakeLoad.objects.get().uid)
    assert Tree.objects.count() == 0


def test_a_later_file_is_compared_merged_and_undone(
    trees: Path, plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(capsys, "load", trees, "--map", plan)
    rows = list(csv.reader(trees.read_text(encoding="utf-8").splitlines()))[1:]
    rows[0][2], rows[1][1] = "9.5", "Stump"
    later, report = intake.write(tmp_path / "later.csv", rows[:-2]), tmp_path / "report.csv"
    told = run(capsys, "merge", later, "--map", plan, "--report", report)
    assert "rows: same 196, changed 1, gone 1, vanished 1" in told
    assert "Nothing was changed: merge with --apply." in told
    with report.open(encoding="utf-8", newline="") as file:
        lines = {line["kind"]: line for line in csv.DictReader(file)}
    assert lines["changed"]["differences"] == "dbh: 10.16 -> 24.13"
    assert (lines["gone"]["differences"], lines["gone"]["taken"]) == ("state: alive -> stump", "false")
    assert (lines["vanished"]["line"], lines["vanished"]["key"]) == ("", "T199")
    words = run(capsys, "merge", later, "--map", plan, "--apply", "--take", "gone", "vanished", "--json").splitlines()
    made = json.loads(words[-1])
    assert made["counts"]["taken"]["gone"] == made["counts"]["taken"]["vanished"] == 1
    assert Tree.objects.get(external_key="T2").state == "stump"
    run(capsys, "undo", made["load"])
    assert set(Tree.objects.values_list("state", flat=True)) == {"alive"}


def test_the_remarks_of_a_mapping_are_kept_with_the_load(
    trees: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    written = tmp_path / "suggested.toml"
    run(capsys, "survey", trees, "--write", written)
    run(capsys, "load", trees, "--map", written)
    remarks = [line[2:] for line in written.read_text().splitlines() if line.startswith("# ")]
    assert len(remarks) >= 9
    assert IntakeLoad.objects.get().notes == remarks


def test_json_is_one_object_on_the_last_line(trees: Path, plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    surveyed = json.loads(run(capsys, "survey", trees, "--json").splitlines()[-1])
    assert mappings.from_dict(surveyed["mapping"]).of("key")[0].heading == "id"
    checked = json.loads(run(capsys, "check", trees, "--map", plan, "--json").splitlines()[-1])
    assert checked["counts"]["refused"] == 1
    loaded = json.loads(run(capsys, "load", trees, "--map", plan, "--json").splitlines()[-1])
    assert (loaded["already_loaded"], loaded["counts"]["trees"]) == (False, 199)
    undone = json.loads(run(capsys, "undo", loaded["load"], "--json").splitlines()[-1])
    assert (undone["load"], undone["state"]) == (loaded["load"], "undone")


def test_the_person_who_loads_is_named(trees: Path, plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    person = build.user()
    run(capsys, "load", trees, "--map", plan, "--as", person.email)
    assert IntakeLoad.objects.get().loaded_by == person


def test_a_survey_shows_a_small_histogram_and_where_the_trees_stand(
    trees: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = run(capsys, "survey", trees).splitlines()
    after = told[next(place for place, line in enumerate(told) if line.startswith("  dbh ")) + 1]
    # Stems of 3 to 32 inches, each as often as any other, in steps of two: the bars but the outer ones are alike.
    assert after.strip().startswith("100% filled, 30 distinct  2 ")
    bars = after.split()[-2]
    assert len(bars) == 16
    assert set(bars[1:-1]) <= set("▇█")
    assert any(line.startswith("EPSG:4326 (WGS 84): 199 of 200 rows looked at have a place") for line in told)


def test_a_mapping_is_kept_listed_used_for_another_file_and_forgotten(
    trees: Path, plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "No mapping is kept" in run(capsys, "mappings")
    run(capsys, "check", trees, "--map", plan, "--save", "Street trees")
    assert "Street trees: 9 headings" in run(capsys, "mappings")
    # The next file has its cells parted by semicolons and one column less.
    with trees.open(encoding="utf-8", newline="") as file:
        rows = [[cell for place, cell in enumerate(row) if place != 6] for row in csv.reader(file)]
    other = tmp_path / "other.csv"
    other.write_text("\n".join(";".join(row) for row in rows) + "\n", encoding="utf-8")
    assert "rows 200, accepted 199" in run(capsys, "check", other, "--saved", "Street trees")
    assert "no mapping is kept under the name" in refused("check", other, "--saved", "Another")
    assert "No mapping is kept" in run(capsys, "mappings", "--forget", "Street trees")
    assert "no mapping is kept under the name" in refused("mappings", "--forget", "Street trees")


def test_bad_input_is_one_problem_and_changes_nothing(trees: Path, plan: Path, tmp_path: Path) -> None:
    binary, broken = tmp_path / "binary", tmp_path / "broken.toml"
    binary.write_bytes(b"a,b\n\0\n")
    broken.write_text(intake.MAPPING.replace('unit = "in"', 'unit = "yards"'))
    assert "there is no file" in refused("survey", tmp_path / "none.csv")
    assert "binary" in refused("survey", binary)
    assert "column/2/unit" in refused("load", trees, "--map", broken)
    assert "cannot be read" in refused("load", trees, "--map", tmp_path / "none.toml")
    assert "1 rows are refused" in refused("load", trees, "--map", plan, "--refused", "stop")
    assert "nobody has the address" in refused("load", trees, "--map", plan, "--as", "who@harrowmere.example")
    assert "no role" in refused("load", trees, "--map", plan, "--as", build.user("inspector").email)
    assert "there is no load" in refused("undo", "00000000-0000-0000-0000-000000000000")
    assert Tree.objects.count() == IntakeLoad.objects.count() == 0


def test_a_table_of_codes_names_what_stands_as_codes_only(
    tmp_path: Path, plan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan.write_text(
        intake.MAPPING.replace('heading = "species"\nrole = "species"', 'heading = "species"\nrole = "code"')
    )
    trees = intake.write(
        tmp_path / "trees.csv", [intake.row(n, species="TICO" if n % 2 else "ZZ") for n in range(1, 9)]
    )
    table = intake.write(tmp_path / "codes.csv", [["TICO", "Tilia cordata"], ["QURO", "Quercus robur"]], ["k", "v"])
    run(capsys, "load", trees, "--map", plan, "--codes", table)
    assert Tree.objects.filter(species__botanical_name="Tilia cordata").count() == 4
    assert Tree.objects.filter(species=None, species_text="code ZZ").count() == 4
    assert '"TICO" = "Tilia cordata"' in IntakeLoad.objects.get().mapping
    written = tmp_path / "suggested.toml"
    run(capsys, "survey", trees, "--write", written, "--codes", table)
    assert '"QURO" = "Quercus robur"' in written.read_text()
    assert "no column of codes" in refused("check", trees, "--map", plan, "--codes", trees)
