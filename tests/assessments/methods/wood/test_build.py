"""The committed table is what the builder makes of the public tables."""

import csv
from pathlib import Path

import pytest

from assessments.methods.wood import build
from assessments.methods.wood.tables import FOLDER, rows_of
from tests.support.open_data import open_data


def test_the_committed_table_is_built_from_the_public_tables() -> None:
    folder = open_data("wood/FIA_REF_SPECIES.csv").parents[1]
    rows = [{column: row.get(column, "") for column in build.COLUMNS} for row in build.build(folder)]
    assert rows == rows_of(FOLDER / "wood.csv")


def test_the_builder_needs_a_folder(capsys: pytest.CaptureFixture[str]) -> None:
    assert build.main([]) == 2
    assert "usage" in capsys.readouterr().err


def test_green_density_follows_from_basic_density_and_moisture(tmp_path: Path) -> None:
    wood = tmp_path / "wood"
    wood.mkdir()
    head = (
        "COMMON_NAME,GENUS,SPECIES,VARIETY,SUBSPECIES,SFTWD_HRDWD,JENKINS_SPGRPCD,WOOD_SPGR_GREENVOL_DRYWT,"
        "WOOD_SPGR_GREENVOL_DRYWT_CIT,BARK_SPGR_GREENVOL_DRYWT,MC_PCT_GREEN_WOOD,MC_PCT_GREEN_WOOD_CIT,"
        "MC_PCT_GREEN_BARK,BARK_VOL_PCT,BARK_VOL_PCT_CIT\n"
    )
    row = "old oak,Quercus,vetus,,,H,9,0.5,1,0.4,100,5,50,25,36\n"
    (wood / "FIA_REF_SPECIES.csv").write_text(head + row)
    (wood / "global_wood_density_database_2009.csv").write_text(
        "number,family,genus,species,wd,region,reference\n1,F,Quercus,nova,0.6,Europe,1\n2,F,Quercus,tropica,0.9,India,1\n"
    )
    handbook = open_data("wood/wood_handbook_table_5_3a_green_27_species.csv")
    (wood / handbook.name).write_text(handbook.read_text())
    found = {row["scientific"]: row for row in build.build(tmp_path)}
    assert found.keys() == {"Quercus vetus", "Quercus nova"}
    # Wood 0.5 x 2 = 1000 kg/m3; bark 0.4 x 1.5 = 600; together (1000 + 0.25 x 600) / 1.25 = 920.
    assert (found["Quercus vetus"]["green_kg_m3"], found["Quercus vetus"]["green_with_bark_kg_m3"]) == ("1000", "920")
    assert (found["Quercus nova"]["basic_source"], found["Quercus nova"]["moisture_source"]) == ("GWD", "FIA-genus")


def test_the_main_writes_the_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = open_data("wood/FIA_REF_SPECIES.csv").parents[1]
    for table in FOLDER.glob("*.csv"):
        (tmp_path / table.name).write_text(table.read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.setattr(build, "FOLDER", tmp_path)
    (tmp_path / "wood.csv").unlink()
    assert build.main([str(folder)]) == 0
    with (tmp_path / "wood.csv").open(encoding="utf-8") as file:
        assert next(csv.reader(file)) == list(build.COLUMNS)
