"""The readers refuse a bad cell and say where it is."""

from pathlib import Path

import pytest

from inventory.catalogue import NAMES_FILE, SPECIES_FILE, every_name, read_names, read_species

SPECIES_HEADER = SPECIES_FILE.read_text(encoding="utf-8").splitlines()[0]
NAMES_HEADER = NAMES_FILE.read_text(encoding="utf-8").splitlines()[0]
GOOD = "Acer rubrum,species,Acer,rubrum,Sapindaceae,Red maple,22,14,155,moderate,good,false,false"


def _file(folder: Path, *lines: str) -> Path:
    path = folder / "table.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_good_line_is_read_with_numbers_and_truth_values(tmp_path: Path) -> None:
    (row,) = read_species(_file(tmp_path, SPECIES_HEADER, GOOD))
    assert (row.botanical_name, row.mature_height_m, row.max_dbh_cm, row.palm) == ("Acer rubrum", 22.0, 155.0, False)


@pytest.mark.parametrize(
    ("old", "new", "column"),
    [
        ("species", "variety", "rank"),
        (",22,", ",tall,", "mature_height_m"),
        (",22,", ",-22,", "mature_height_m"),
        (",22,", ",nan,", "mature_height_m"),
        (",155,", ",,", "max_dbh_cm"),
        ("moderate", "medium", "walls_off_decay"),
        ("good", "fine", "root_tolerance"),
        ("false,false", "no,false", "palm"),
        ("false,false", "false,", "evergreen"),
        ("Sapindaceae", " Sapindaceae", "family"),
        ("rubrum,Sap", ",Sap", "epithet"),
    ],
)
def test_a_bad_cell_is_named_by_line_and_column(tmp_path: Path, old: str, new: str, column: str) -> None:
    path = _file(tmp_path, SPECIES_HEADER, GOOD, GOOD.replace(old, new, 1))
    with pytest.raises(ValueError, match=f"line 3, column {column}:"):
        read_species(path)


def test_a_genus_has_no_epithet(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="line 2, column epithet"):
        read_species(_file(tmp_path, SPECIES_HEADER, GOOD.replace("species", "genus", 1)))


def test_a_line_with_a_cell_too_many_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"line 2: 14 cells, not 13"):
        read_species(_file(tmp_path, SPECIES_HEADER, GOOD + ",x"))


def test_another_header_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="line 1: the columns must be botanical_name, name, language, kind"):
        read_names(_file(tmp_path, SPECIES_HEADER))


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="line 1"):
        read_names(_file(tmp_path))


@pytest.mark.parametrize("line", ["Acer rubrum,Red maple,la,common", "Acer rubrum,Acer drummondii,en,synonym"])
def test_a_synonym_is_latin_and_a_common_name_is_not(tmp_path: Path, line: str) -> None:
    with pytest.raises(ValueError, match="line 2, column language"):
        read_names(_file(tmp_path, NAMES_HEADER, line))


def test_every_name_gives_accepted_and_other_names() -> None:
    rows = list(every_name())
    assert ("Tilia × europaea", "Tilia × europaea", "accepted", "la") in rows
    assert ("Tilia × europaea", "Tilia × vulgaris", "synonym", "la") in rows
    assert len(rows) == len(read_species()) + len(read_names())
