"""A small house for the tests of the command: a book made and filled by the command itself."""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from reports.cli import app

EVIL = "red\x1b[31m \u202eleft [bold]b[/] <script>"  # as text of a note
ODD = "red [bold]b[/] <script> שמאל =1+1"  # as a name
REGISTER: list[tuple[str, dict[str, Any]]] = [
    ("enclosure", {"enclosure": "T3", "name": "Tank 3", "house": "MS", "purpose": "exhibit", "section": "Reef"}),
    ("enclosure", {"enclosure": "H1", "name": "Hospital", "house": "MS", "purpose": "quarantine"}),
    ("taxon", {"taxon": "Chromis viridis", "rank": "species", "common_name": "chromis", "class": "Actinopterygii"}),
    ("taxon", {"taxon": "Sepia officinalis", "rank": "species", "common_name": ODD, "class": "Cephalopoda"}),
    ("party", {"party": "OSC", "name": "Ostrey Sea Centre", "sort": "institution"}),
]
ANIMALS: list[tuple[str, str, dict[str, Any]]] = [
    ("opening", "2026-01-02", {"lot": "MS-2026-0001", "how_many": 60, "taxon": "Chromis viridis", "enclosure": "T3"}),
    (
        "opening",
        "2026-01-02",
        {"animal": "MS-2026-0002", "taxon": "Sepia officinalis", "enclosure": "H1", "note": "Came with the building."},
    ),
    ("move", "2026-02-03", {"lot": "MS-2026-0001", "how_many": 5, "to": "H1", "from": "T3"}),
    ("death", "2026-02-10", {"lot": "MS-2026-0001", "how_many": 3, "from": "H1"}),
    ("move", "2026-02-20", {"lot": "MS-2026-0001", "how_many": 2, "to": "T3", "from": "H1"}),
    (
        "transfer",
        "2026-03-01",
        {"lot": "MS-2026-0001", "how_many": 20, "from": "MS", "to": "OSC", "terms": "loan", "leaving": "T3"},
    ),
]
NEW = ("--house", "Marrow Sound Aquarium", "--code", "MS", "--time-zone", "Europe/Lisbon", "--hemisphere", "north")


def lines() -> list[dict[str, Any]]:
    """The entries of the house, as they stand in a file."""
    register = [{"kind": kind, "occurred": "2026-01-01", "payload": payload} for kind, payload in REGISTER]
    return register + [{"kind": kind, "occurred": day, "payload": payload} for kind, day, payload in ANIMALS]


def written(path: Path, entries: list[dict[str, Any]]) -> str:
    """The entries as a file of JSON Lines; its path."""
    path.write_text("".join(json.dumps(entry) + "\n" for entry in entries), encoding="utf-8")
    return str(path)


class House:
    """A book at a path, and the command over it."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def run(self, *args: object, input: str | None = None) -> Any:
        """The command with `--book`, and what it did."""
        return run(*args, "--book", self.path, input=input)

    def rows(self, *args: object) -> dict[str, Any]:
        """The JSON a reading command answers."""
        result = self.run(*args, "--format", "json")
        assert result.exit_code == 0, result.output
        answer: dict[str, Any] = json.loads(result.stdout)
        return answer

    def position(self) -> int:
        """Where the log stands."""
        return int(self.rows("census")["position"])


def run(*args: object, input: str | None = None) -> Any:
    """The command as it is typed; an exception that it lets out fails the test."""
    return CliRunner().invoke(app, [str(arg) for arg in args], input=input, catch_exceptions=False)


_KEPT = tempfile.TemporaryDirectory(prefix="tidemark-house-")


def fresh(folder: Path) -> House:
    """A book with the house in it, of this test alone: a copy of one that is made once."""
    first = Path(_KEPT.name) / "tidemark.sqlite"
    if not first.exists():
        _make(first.parent)
    copy = folder / first.name
    shutil.copyfile(first, copy)
    return House(copy)


def _make(folder: Path) -> House:
    house = House(folder / "tidemark.sqlite")
    made = house.run("new", *NEW, "--number-pattern", "MS-{year}-{n:04}", "--person", "ADA")
    assert made.exit_code == 0, made.output
    sheet = written(folder / "house.jsonl", lines())
    loaded = house.run("load", sheet, "--by", "ADA", "--accept", "late", "--because", "Taken over from the card index.")
    assert loaded.exit_code == 0, loaded.output
    return house
