"""`python -m deploy.bench NAME --scale N [--json]`: run one benchmark, on a scratch database if it needs one."""

import argparse
import importlib
import os

from deploy.bench import city, scratch

# Each is a module of this package with `run(scale, as_json)`; the second kind needs no database.
BENCHMARKS = ("intake", "recompute")
PURE = ("sections", "calibration", "program")


def main() -> None:
    """Make the scratch database, bind Django to it as the owner, run, drop it."""
    parser = argparse.ArgumentParser(prog="python -m deploy.bench", description=__doc__)
    parser.add_argument("name", choices=(*BENCHMARKS, *PURE))
    parser.add_argument("--scale", type=int, default=100_000, help="number of trees or sections")
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    asked = parser.parse_args()
    if asked.name in PURE:
        importlib.import_module(f"deploy.bench.{asked.name}").run(asked.scale, asked.json)
        return
    with scratch.database_of_its_own(city.SRID) as settings:
        # The owner: the baseline switches the history triggers off.
        os.environ.update(settings, DB_ROLE="owner", DJANGO_SETTINGS_MODULE="deploy.settings")
        # A file of a million rows is larger than what the service takes from strangers.
        os.environ["UPLOAD_MAX_MIB"] = "2048"
        import django
        from django.db import connections

        django.setup()
        try:
            importlib.import_module(f"deploy.bench.{asked.name}").run(asked.scale, asked.json)
        finally:
            connections.close_all()


if __name__ == "__main__":
    main()
