"""The first events of a log: the book itself, then its first person and first house."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from ledger.book import Book
from ledger.chance import Chance, SystemChance
from ledger.draft import civil
from ledger.event import UNICODE
from ledger.store.places import create_store
from ledger.words import RULES

FLOOR = "1900-01-01"


class NotMade(ValueError):
    """The first person or house was refused; `findings` say why."""

    def __init__(self, findings: tuple[Any, ...]) -> None:
        super().__init__(" ".join(f.sentence() for f in findings))
        self.findings = findings


def make(place: str, person: dict[str, Any], house: dict[str, Any], chance: Chance | None, occurred: str = "") -> Book:
    """A new book with its first three events. Leaves nothing behind where person or house is refused."""
    chance = chance or SystemChance()
    zone = str(house.get("time_zone", "UTC"))
    if zone not in available_timezones():
        zone = "UTC"  # the house's own payload refuses it, in words
    moment = chance.moment()
    day = occurred or civil(moment.recorded, zone).isoformat()
    code = str(person.get("person", ""))
    ids = {code: chance.new_id("p-")}
    payload = {
        "log_id": chance.log_id(),
        "canonical": "rfc8785",
        "hash": "sha256",
        "tree": "rfc9162",
        "unicode": UNICODE,
        "rules": RULES,
        "clock_kind": chance.clock_kind,
        "time_zone": zone,
        "hemisphere": str(house.get("hemisphere", "north")),
        "floor": FLOOR,
    }
    first = {"kind": "book", "occurred": civil(moment.recorded, zone).isoformat(), "payload": payload}
    people = [
        {"kind": "person", "occurred": day, "payload": person},
        {"kind": "house", "occurred": day, "payload": house},
    ]
    # judged first on a book that is not kept, so that a refusal leaves no file
    trial = Book(create_store(":memory:"), write=True, chance=chance)
    _write(trial, first, people, code, dict(ids))
    trial.close()
    book = Book(create_store(place), write=True, chance=chance)
    _write(book, first, people, code, dict(ids))
    return book


def _write(book: Book, first: dict[str, Any], people: list[dict[str, Any]], code: str, ids: dict[str, str]) -> None:
    for entries in ([first], people):
        outcome = book.begin_with(entries, code, ids)
        if not outcome.landed:
            raise NotMade(outcome.findings)
