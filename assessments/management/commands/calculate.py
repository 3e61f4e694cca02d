"""`manage.py calculate`: one calculation from JSON to JSON, as the REST interface does it."""

import json
import sys
from pathlib import Path
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandParser

from assessments import calculations, queries
from assessments.calculations import KINDS, NotJson
from inventory.problems import Refusal

# As much as the REST interface takes.
MOST_BYTES: Final = 4 * 1024 * 1024


class Command(BaseCommand):
    """Read a request, write its answer to the output; a problem document to the error output, with exit code 1."""

    help = "Compute one kind of calculation from a JSON request; nothing is stored."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("kind", choices=tuple(KINDS), help=", ".join(KINDS))
        parser.add_argument("--input", default="-", help="file with the request; - (the default): standard input")
        parser.add_argument("--picture", help="write the picture (SVG) to this file too, where there is one")
        parser.add_argument(
            "--city", action="store_true", help="let the wind and the threshold of decay of the city's policy stand in"
        )
        parser.add_argument("--example", action="store_true", help="print an example of a request and stop")

    def handle(self, *args: Any, **options: Any) -> None:
        """Compute and print."""
        one = calculations.kind(options["kind"])
        if options["example"]:
            self.stdout.write(json.dumps(one.example, indent=2))
            return
        policy = queries.policy_in_force() if options["city"] else None
        try:
            worked = calculations.run(one, calculations.parse(_read(options["input"])), policy)
            drawn = calculations.picture(worked) if options["picture"] else None
        except Refusal as refusal:
            document = json.dumps(_document(refusal, one.name), indent=2)
            self.stderr.write(document, style_func=str)
            raise SystemExit(1) from refusal
        self.stdout.write(json.dumps(worked.answer, indent=2, ensure_ascii=False))
        if drawn is not None:
            Path(options["picture"]).write_text(drawn, encoding="utf-8")


def _read(name: str) -> str:
    """Read the request. Raises NotJson where there is no such file, or it is too large or not UTF-8."""
    try:
        if name == "-":
            body = sys.stdin.buffer.read(MOST_BYTES + 1) if hasattr(sys.stdin, "buffer") else sys.stdin.read().encode()
        else:
            with Path(name).open("rb") as file:
                body = file.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            raise NotJson(f"a request may hold {MOST_BYTES} bytes at most")
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotJson("the request is not UTF-8") from error
    except OSError as error:
        raise NotJson(f"{name}: {error.strerror or 'cannot be read'}") from error


def _document(refusal: Refusal, name: str) -> dict[str, Any]:
    """The problem document of the REST interface (RFC 9457) for a refusal."""
    document: dict[str, Any] = {
        "type": f"/problems/{refusal.kind}",
        "title": refusal.title,
        "status": refusal.status,
        "detail": refusal.detail,
        "instance": f"calculate {name}",
    }
    errors = [{"pointer": error.pointer, "detail": error.detail} for error in refusal.errors]
    return document | ({"errors": errors} if errors else {})
