"""`manage.py intake survey|check|load|merge|undo|mappings`: a city's tree file in, step by step."""

import json
import uuid
from argparse import RawDescriptionHelpFormatter
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from inventory.history import Author
from inventory.intake import codes, report, roles, run, saved, taxa
from inventory.intake import load as loading
from inventory.intake import mapping as mappings
from inventory.intake.glance import told
from inventory.intake.mapping import Mapping
from inventory.intake.merge import choices, merging
from inventory.intake.merge import queries as merges
from inventory.intake.read import Source, open_source
from inventory.intake.survey import Survey, survey
from inventory.intake.undo import undo
from inventory.management import command_line
from inventory.models import IntakeMerge
from inventory.models.intake_trial import KINDS
from inventory.problems import Invalid


class Command(BaseCommand):
    """Survey a file, check it under a mapping, load it, merge a later one, undo. Bad input: exit code 2."""

    requires_system_checks = ()
    help = f"Bring in a city's tree file. {mappings.__doc__}\nThe roles:\n\n{roles.told()}\n"

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        """Keep the line breaks of the help."""
        return super().create_parser(prog_name, subcommand, formatter_class=RawDescriptionHelpFormatter, **kwargs)

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the steps."""
        # The formatter of the parent shows Django's own options twice as wide; the steps are plain parsers.
        steps = parser.add_subparsers(dest="step", required=True)
        surveyed = steps.add_parser("survey", help="look at a file and suggest a mapping")
        checked = steps.add_parser("check", help="give every row its verdict; write nothing")
        loaded = steps.add_parser("load", help="bring the accepted rows in, all or nothing")
        merged = steps.add_parser("merge", help="compare a later file of the city with what stands; write with --apply")
        undone = steps.add_parser("undo", help="take a load or a merge back while nothing builds on it")
        kept = steps.add_parser("mappings", help="list the mappings that are kept under a name")
        surveyed.add_argument("--write", type=Path, metavar="MAP.toml", help="write the suggested mapping")
        checked.add_argument("--report", type=Path, metavar="OUT.csv", help="write every row that is not simply taken")
        loaded.add_argument("--refused", choices=("skip", "stop"), default="skip", help="what refused rows do")
        checked.add_argument("--save", metavar="NAME", help="keep the mapping under a name, for later files like it")
        kept.add_argument("--forget", metavar="NAME", help="forget one of them")
        undone.add_argument("uid", type=uuid.UUID)
        _merge_arguments(merged)
        for step in (surveyed, checked, loaded, merged):
            step.add_argument("file", type=Path)
            step.add_argument("--codes", type=Path, metavar="FILE", help="a table of the city's codes of species")
        for step in (checked, loaded, merged):
            which = step.add_mutually_exclusive_group(required=True)
            which.add_argument("--map", type=Path, metavar="MAP.toml", help="the mapping, as survey writes it")
            which.add_argument("--saved", metavar="NAME", help="a mapping that is kept under this name")
        for step in (checked, loaded, merged, undone, kept):
            step.add_argument("--as", dest="email", help="the person who does it (the service itself if not given)")
        for step in (surveyed, checked, loaded, merged, undone, kept):
            step.add_argument("--json", action="store_true", help="a summary as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run one step."""
        with command_line.one_problem():
            getattr(self, f"_{options['step']}")(options)

    def _survey(self, options: dict[str, Any]) -> None:
        names = taxa.from_files().names
        found = survey(open_source(options["file"]), names)
        if options["codes"]:
            found = replace(found, mapping=_with_codes(found.mapping, options))
        if options["write"]:
            options["write"].write_text(found.as_toml(), encoding="utf-8")
        if options["json"]:
            self._json(found.as_dict())
        else:
            self._tell_survey(found, options["write"])

    def _tell_survey(self, found: Survey, written: Path | None) -> None:
        layout = found.mapping.layout
        shape = f"{layout.format}, {layout.encoding}"
        self._say(f"{found.name}: {found.rows:,} rows, {len(found.columns)} columns ({shape})")
        for column, seen in zip(found.columns, found.glances, strict=True):
            unit = f" {column.unit or column.format}".rstrip()
            sure = f"{column.confidence:.0%}" if column.role != "ignored" else ""
            self._say(f"  {column.heading[:28]:28} {column.role + unit:16} {sure:>4}  {column.evidence}")
            if seen.values:
                self._say(f"{'':31}{column.filled:.0%} filled, {seen.distinct:,} distinct  {told(seen)}")
        if found.map:
            self._say(found.map.said())
        for doubt in found.doubts:
            self._say(f"look at: {doubt}")
        if written:
            self._say(f"The mapping is in {written}: read it, correct it, then check the file with it.")

    def _check(self, options: dict[str, Any]) -> None:
        source, mapping = _opened(options)
        examination = loading.judge(source, mapping)
        if options["report"]:
            with options["report"].open("wb") as file:
                file.writelines(report.write(examination.rows(source, least=0), source.columns))
        if options["save"]:
            saved.save(_author(options), options["save"], mapping, source.columns)
        told = run.told(examination)
        if options["json"]:
            self._json(told)
            return
        self._tell_counts(told["counts"])
        for check in told["checks"]:
            first = check["examples"][0]
            example = f"line {first['line']}: {first['detail']}"
            self._say(f"  {check['severity']:6} {check['rows']:>9,}  {check['title']} ({example})")

    def _load(self, options: dict[str, Any]) -> None:
        source, mapping = _opened(options)
        notes = _remarks(options["map"]) if options["map"] else None
        outcome = loading.load(
            _author(options),
            source,
            mapping,
            refused=options["refused"],
            notes=notes,
        )
        if options["json"]:
            self._json(run.loaded(outcome))
            return
        if outcome.already:
            self._say("This file is in the inventory already under this mapping: nothing was changed.")
        self._tell_counts(outcome.load.counts)
        self._say(f"load {outcome.load.uid}")

    def _merge(self, options: dict[str, Any]) -> None:
        source, mapping = _opened(options)
        kinds = dict.fromkeys(options["take"], "file") | dict.fromkeys(options["keep"], "ours")
        step = merging.merge if options["apply"] else merging.check
        chosen = choices.read({"kinds": kinds})
        made = step(_author(options), source, mapping, chosen, anyway=options["anyway"])
        if options["report"]:
            with options["report"].open("wb") as file:
                file.writelines(merges.as_csv(merges.rows(made).iterator()))
        if options["json"]:
            self._json(run.merge_told(made))
        else:
            self._tell_merge(made)

    def _tell_merge(self, made: IntakeMerge) -> None:
        counts = made.counts
        rows = {kind: counts["kinds"][kind] for kind in KINDS}
        for title, numbers in (("matched", counts["matched"]), ("rows", rows), ("taken", counts["taken"])):
            some = ", ".join(f"{kind.replace('_', ' ')} {number:,}" for kind, number in numbers.items() if number)
            self._say(f"{title}: {some or 'none'}")
        for field, numbers in counts["fields"].items():
            self._say(f"  {field}: " + ", ".join(f"{name} {number:,}" for name, number in numbers.items() if number))
        for notice in made.notices:
            self._say(f"look at: {notice['text']}")
        if made.load:
            self._say(f"merge {made.uid}; to undo it: manage.py intake undo {made.load.uid}")
        else:
            self._say("Nothing was changed: merge with --apply.")

    def _undo(self, options: dict[str, Any]) -> None:
        load = undo(_author(options), options["uid"])
        if options["json"]:
            self._json({"load": str(load.uid), "state": load.state, "counts": load.counts})
        else:
            self._say(f"load {load.uid} of {load.file_name} is undone")

    def _mappings(self, options: dict[str, Any]) -> None:
        if options["forget"]:
            saved.remove(_author(options), saved.named(options["forget"]).uid)
        every = [(one.name, len(one.headings), one.saved_at) for one in saved.every()]
        if options["json"]:
            self._json({"mappings": [{"name": n, "headings": h, "saved_at": at.isoformat()} for n, h, at in every]})
            return
        for name, headings, at in every:
            self._say(f"{name}: {headings} headings, saved {at:%Y-%m-%d}")
        if not every:
            self._say("No mapping is kept.")

    def _tell_counts(self, counts: dict[str, Any]) -> None:
        rows = ("rows", "accepted", "warned", "refused", "same", "trees", "vacant_sites")
        self._say(", ".join(f"{name.replace('_', ' ')} {counts[name]:,}" for name in rows))
        species = ", ".join(f"{how} {number:,}" for how, number in counts["species"].items())
        self._say(f"species matched: {species}")

    def _say(self, text: str) -> None:
        self.stdout.write(text)

    def _json(self, value: dict[str, Any]) -> None:
        self._say(json.dumps(value, ensure_ascii=False))


def _opened(options: dict[str, Any]) -> tuple[Source, Mapping]:
    if options["saved"]:
        # Kept for files like this one, which may yet be parted or encoded in another way.
        source = open_source(options["file"])
        return source, _with_codes(saved.fitted(mappings.parse(saved.named(options["saved"]).mapping), source), options)
    try:
        text = options["map"].read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Invalid.field("#/map", f"{options['map']} cannot be read: {error}") from error
    mapping = _with_codes(mappings.parse(text), options)
    return open_source(options["file"], mapping.layout), mapping


def _with_codes(mapping: Mapping, options: dict[str, Any]) -> Mapping:
    """The mapping with the table of codes that was given."""
    path = options["codes"]
    return codes.into(mapping, open_source(path), taxa.from_files().names) if path else mapping


def _merge_arguments(step: Any) -> None:
    every = "; ".join(f"{name}: {words}" for name, (words, _) in choices.ASPECTS.items())
    asked = ", ".join(name for name, (_, by_default) in choices.ASPECTS.items() if by_default)
    kinds: dict[str, Any] = {"nargs": "+", "choices": list(choices.ASPECTS), "default": [], "metavar": "KIND"}
    step.add_argument("--apply", action="store_true", help="write what is taken; without it nothing is changed")
    step.add_argument("--take", help=f"take the file's side as well of: {every}. Taken anyway: {asked}", **kinds)
    step.add_argument("--keep", help="keep ours, of the same kinds", **kinds)
    step.add_argument("--anyway", action="store_true", help="even where hardly anything of the file stands here")
    step.add_argument("--report", type=Path, metavar="OUT.csv", help="write every row that is not simply the same")


def _remarks(path: Path) -> list[str] | None:
    """The remarks of a mapping, which a survey wrote there or a person; None where it has none."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [line[1:].strip() for line in map(str.strip, lines) if line.startswith("#")] or None


def _author(options: dict[str, Any]) -> Author:
    return command_line.author(options["email"], "intake.run")
