"""A whole load (reading, checks, verdicts, history) beside COPY of the same rows into the same tables.

Baseline: COPY of the very rows that the load wrote, foreign keys and indexes on, history triggers off. The tables
are emptied and vacuumed before each round; ours and the baseline take turns in one run.
"""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection, transaction

from deploy.bench import city
from deploy.bench.report import Clock, finish, peak_mib, say
from inventory.catalogue import load as catalogue
from inventory.history import SERVICE
from inventory.intake import load as loading
from inventory.intake import mapping as mappings
from inventory.intake import taxa
from inventory.intake.load import Outcome
from inventory.intake.mapping import Mapping
from inventory.intake.read import open_source
from inventory.intake.survey import survey
from inventory.models import Municipality

TABLES = ("site", "tree", "measurement")
EMPTIED = (*TABLES, *(f"{table}_past" for table in TABLES), "intake_verdict")
COLUMNS = {
    "site": "id, uid, external_key, location, zone_id, street, house_number, place, growing_space, strip_width_m,"
    " overhead_lines, occupancy, state, intake_load_id, version",
    "tree": "id, uid, tag, external_key, site_id, species_id, species_text, location, zone_id, planted_from,"
    " planted_to, state, removed_on, removal_reason, dbh_cm, dbh_low_cm, dbh_high_cm, height_m, crown_m, note,"
    " intake_load_id, version",
    "measurement": "id, uid, tree_id, measured_on, measured_by_id, method, stems_cm, dbh_cm, dbh_low_cm, dbh_high_cm,"
    " dbh_height_m, height_m, height_low_m, height_high_m, crown_m, crown_base_m, note, intake_load_id, received_at",
}


def run(scale: int, as_json: bool) -> None:
    """Load an invented file of `scale` rows and COPY the same rows; print how many times as long the load takes."""
    rounds = 3 if scale <= 300_000 else 1
    clock = Clock()
    _found()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "city.csv"
        city.write_csv(path, scale)
        with clock.timed("survey"):
            mapping = survey(open_source(path), taxa.from_database().names).mapping
        say(f"surveyed {scale:,} rows", clock.rounds["survey"])
        for _ in range(rounds):
            _empty()
            with clock.timed("load"):
                outcome = _load(path, mapping)
            memory = peak_mib()
            say("loaded with verdicts and history", clock.rounds["load"][-1:])
            _keep_rows(Path(folder))
            _empty()
            with clock.timed("copy"):
                _copy(Path(folder))
            say("copied the same rows", clock.rounds["copy"][-1:])
    ratio = clock.median("load") / clock.median("copy")
    figures = {"seconds": clock.figures(), "peak_mib": memory, "counts": outcome.load.counts}
    finish("intake", scale, ratio, figures, as_json=as_json)


def _found() -> None:
    Municipality.objects.create(
        name="Harrowmere",
        metric_srid=city.SRID,
        time_zone="UTC",
        currency="EUR",
        language="en",
        emergency_phone="112",
    )
    catalogue.apply()


def _load(path: Path, mapping: Mapping) -> Outcome:
    # Through the text form, as a person would hand it over.
    mapping = mappings.parse(mappings.write(mapping))
    return loading.load(SERVICE, open_source(path, mapping.layout), mapping)


def _empty() -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {', '.join(EMPTIED)} CASCADE")
        cursor.execute("UPDATE intake_load SET state = 'undone', undone_at = now() WHERE state = 'loaded'")
        for table in EMPTIED:
            cursor.execute(f"VACUUM ANALYZE {table}")


def _keep_rows(folder: Path) -> None:
    """Write the rows of each table to a file, in the order in which they were loaded."""
    for table in TABLES:
        query = f"COPY (SELECT {COLUMNS[table]} FROM {table} ORDER BY id) TO STDOUT"
        with connection.cursor() as cursor, cursor.copy(query) as copy, (folder / table).open("wb") as file:
            for data in copy:
                file.write(data)


def _copy(folder: Path) -> None:
    with transaction.atomic(), _without_history(), connection.cursor() as cursor:
        for table in TABLES:
            with (
                cursor.copy(f"COPY {table} ({COLUMNS[table]}) FROM STDIN") as copy,
                (folder / table).open("rb") as file,
            ):
                while data := file.read(1 << 20):
                    copy.write(data)


@contextmanager
def _without_history() -> Iterator[None]:
    """History triggers off; foreign keys are checked with each statement, as in the load."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for table in TABLES:
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        yield
        for table in TABLES:
            cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
