"""`new`: begin a book with its first person and its first house; at a terminal what is missing is asked for."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from reports import cli_say as out
from reports.cli_book import login, path_of, terminal
from reports.cli_guard import CONFLICT, REFUSED, Stop, code_of, end

HEMISPHERES: Final = ("north", "south")
NOT_MADE: Final = "No book is made."
_ASKED: Final = {
    "name": ("--house", "Name of the house", ""),
    "house": ("--code", "Its short code, such as MS", ""),
    "time_zone": ("--time-zone", "Its time zone", "Europe/Lisbon"),
    "hemisphere": ("--hemisphere", "Its hemisphere (north, south)", "north"),
    "number_pattern": ("--number-pattern", "How its accession numbers are made", ""),
    "person": ("--person", "Your short code, such as your initials", ""),
}


def new(
    book: Path | None,
    house: str | None,
    code: str | None,
    zone: str | None,
    hemisphere: str | None,
    pattern: str | None,
    person: str | None,
    name: str | None,
) -> None:
    """`tidemark new`."""
    path = path_of(book)
    if path.exists():
        raise Stop(
            f"Something stands at {path} already; nothing is changed. Choose another place with --book.", CONFLICT
        )
    if not path.parent.exists():
        raise Stop(f"There is no folder {path.parent}; make it first.")
    given = {"name": house, "house": code, "time_zone": zone, "hemisphere": hemisphere, "number_pattern": pattern}
    said = _complete({**given, "person": person})
    if not _is_zone(str(said["time_zone"])):
        raise Stop(f"“{said['time_zone']}” is no time zone; write one such as Europe/Lisbon. {NOT_MADE}", REFUSED)
    who = {"person": said.pop("person"), **({"login": login()} if login() else {}), **({"name": name} if name else {})}
    _make(path, who, said)
    out.say(f"{said['name']} · a new book at {path} · by {who['person']}")
    out.say("Next: tidemark record enclosure, tidemark record taxon, then tidemark record opening for what you have.")


def _complete(given: dict[str, str | None]) -> dict[str, Any]:
    said = {field: value for field, value in given.items() if value}
    missing = [field for field in _ASKED if field not in said and field != "number_pattern"]
    if not terminal():
        if missing:
            raise Stop(f"A book needs {', '.join(_ASKED[field][0] for field in missing)} as well.")
        return said
    for field, (_, label, proposed) in _ASKED.items():
        if field in said or (field == "number_pattern" and not missing):
            continue
        default = {"time_zone": _zone() or proposed, "number_pattern": f"{said.get('house', 'MS')}-{{year}}-{{n:04}}"}
        said[field] = _line(field, label, default.get(field, proposed))
    return said


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _line(field: str, label: str, proposed: str) -> str:
    while True:
        sys.stderr.write(f"{label}{f' [{proposed}]' if proposed else ''}: ")
        sys.stderr.flush()
        said = input().strip() or proposed
        if said and (field != "time_zone" or _is_zone(said)) and (field != "hemisphere" or said in HEMISPHERES):
            return said


def _zone() -> str:
    """The time zone of the machine, where it says so by name."""
    named = os.environ.get("TZ", "").removeprefix(":")
    if "/" in named and not named.startswith("/"):
        return named
    link = os.path.realpath("/etc/localtime")
    return link.partition("/zoneinfo/")[2]


def _make(path: Path, person: dict[str, Any], house: dict[str, Any]) -> None:
    from ledger import new_book
    from ledger.genesis import NotMade

    try:
        new_book(str(path), person=person, house=house).close()
    except NotMade as refused:
        out.findings(refused.findings)
        end(code_of(refused.findings), NOT_MADE)
