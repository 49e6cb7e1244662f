"""One of several programs that write to one book at once; `test_four_writers.py` starts it and reads what it did.

    python writer.py BOOK NAME SECONDS WAY

Each thing done is a line of JSON in BOOK.NAME: what, when it began and ended by the clock all programs share, and what
came of it. The intention is written down before the act, so that a program that crashed between the two, started
again, sends the same command again, as a person would who does not know whether it went through.
"""

from __future__ import annotations

import json
import os
import random
import sys
import time
import uuid
from datetime import date
from pathlib import Path
from typing import Any

import ledger
from ledger.book import Book
from ledger.findings import CODES
from ledger.read import AsOf, Copy
from ledger.store.errors import StoreError
from ledger.store.sqlite import SqliteStore

ACCEPT = {c.name: "taken as it is" for c in CODES if c.weight == "warning"}
LOT = "MS-2026-0001"
DAY = date(2026, 5, 1)
SHARED = (15, 16)  # two notes that all correct


class Writer:
    """A clerk in a hurry."""

    def __init__(self, path: str, name: str) -> None:
        self.path, self.name = path, name
        self.log = Path(f"{path}.{name}")
        self.pick = random.Random(f"{name}{self.log.stat().st_size if self.log.exists() else 0}")
        self.newest: dict[int, int] = {}  # of the events that all correct, as this one saw it last

    def told(self, **what: Any) -> None:
        with self.log.open("a", encoding="utf-8") as file:
            file.write(json.dumps(what) + "\n")
            file.flush()
            os.fsync(file.fileno())

    def unfinished(self) -> list[dict[str, Any]]:
        """Entries that were to be sent when the program before this one ended."""
        lines = [json.loads(line) for line in self.log.read_text().splitlines()] if self.log.exists() else []
        done = {line["id"] for line in lines if line["what"] == "sent"}
        return [line["entry"] for line in lines if line["what"] == "will send" and line["id"] not in done]

    def send(self, book: Book, entry: dict[str, Any], *, crash: bool = False) -> None:
        """One entry; now and then several times, or with the program's end right after the commit."""
        self.told(what="will send", id=entry["event_id"], entry=entry)
        for _ in range(self.pick.choice((1, 1, 1, 5))):
            began = time.monotonic()
            outcome = book.append([entry], by="ADA", accept=ACCEPT)
            if crash:
                os._exit(9)
            at = [seq for seq, _ in outcome.events] or list(outcome.already)
            landed = bool(outcome.events)
            self.told(what="sent", id=entry["event_id"], began=began, ended=time.monotonic(), at=at, landed=landed)

    def correct(self, book: Book) -> None:
        """The same event as others are correcting: one wins."""
        began = time.monotonic()
        target = self.pick.choice(SHARED)
        was = self.newest.get(target, target)
        note = f"by {self.name} at {began}"
        outcome = book.correct(was, {"text": note}, reason="mistake", by="ADA", accept=ACCEPT)
        codes = [f.code for f in outcome.findings]
        said = [f.sentence() for f in outcome.findings]
        at = [seq for seq, _ in outcome.events]
        self.newest[target] = at[0] if at else outcome.findings[0].event or was
        self.told(what="corrected", began=began, ended=time.monotonic(), at=at, codes=codes, said=said, of=was)

    def report(self, copy: Copy, before: dict[int, int]) -> None:
        """The census as known at every position asked before is what it was."""
        copy.refresh()
        head = copy.head.position
        for known in [head, *before]:
            frame = copy.cells(AsOf(DAY, known))
            total = int(frame.filter(frame["place"].str.starts_with("e-"))["n"].sum())
            if before.setdefault(known, total) != total:
                self.told(what="moved", known=known, was=before[known], now=total)
        self.told(what="reported", known=head, total=before[head])

    def run(self, seconds: float, crashes: bool) -> None:
        book = ledger.open_book(self.path, write=True)
        copy = Copy(book.store)
        before: dict[int, int] = {}
        for entry in self.unfinished():
            self.send(book, entry)
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            what = self.pick.randrange(10)
            try:
                if what < 7:
                    self.send(book, self.entry(), crash=crashes and self.pick.random() < 0.02)
                elif what < 9:
                    self.correct(book)
                else:
                    self.report(copy, dict(list(before.items())[-3:]) if len(before) > 3 else before)
            except StoreError as error:
                self.told(what="trouble", said=type(error).__name__)

    def entry(self) -> dict[str, Any]:
        """A birth into the lot, a death out of it, or a note."""
        id_ = str(uuid.UUID(int=self.pick.getrandbits(128), version=4))
        kind = self.pick.choice(("hatching", "death", "note"))
        day = f"2026-04-{self.pick.randint(1, 28):02}"
        payloads: dict[str, dict[str, Any]] = {
            "hatching": {"into": LOT, "how_many": {"u": self.pick.randint(1, 3)}, "enclosure": "T3"},
            "death": {"lot": LOT, "how_many": {"u": 1}, "from": "T3"},
            "note": {"lot": LOT, "topic": "diet", "text": "Fed."},
        }
        return {"kind": kind, "occurred": day, "payload": payloads[kind], "event_id": id_}


def main() -> None:
    path, name, seconds, way = sys.argv[1:5]
    if way == "deferred":
        SqliteStore._begin_word = "BEGIN"
    Writer(path, name).run(float(seconds), crashes=way == "crashes")


if __name__ == "__main__":
    main()
