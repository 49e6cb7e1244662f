"""Small books on paper: hand-written lines and events behind the few questions a reading copy asks of a store."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from typing import Any

from ledger.chain import digest
from ledger.event import leaf
from ledger.store.errors import NoSuch
from ledger.store.port import BatchRow, Derived, Head, Segment, StoredEvent
from ledger.store.rows import typed_posting

CELL = ("taxon", "sex", "place", "holder", "owner", "standing")


def line(effect: int, subject: str, on: str, cell: tuple[str, ...], delta: int, reason: str, could: str = "") -> dict:
    """One leg; `cell` may leave the standing out."""
    return {
        "effect": effect,
        "subject": subject,
        "counts_on": on,
        "could_from": could or on,
        **dict(zip(CELL, (*cell, "collection")[:6], strict=True)),
        "reason": reason,
        "delta": delta,
    }


def legs(
    effect: int,
    subject: str,
    on: str,
    a: tuple[str, ...],
    b: tuple[str, ...],
    n: int,
    reason: str,
    into: str = "",
    could: str = "",
) -> list[dict]:
    """`n` out of cell `a` into cell `b`."""
    return [line(effect, subject, on, a, -n, reason, could), line(effect, subject, on, b, n, into or reason, could)]


class Paper:
    """A store of hand-written rows. Each `batch` is known as a whole; `recorded` is counted up where not given."""

    def __init__(self) -> None:
        self._events: list[StoredEvent] = []
        self._postings: list[tuple[Any, ...]] = []
        self._open: list[tuple[Any, ...]] = []
        self._batches: list[BatchRow] = []

    @property
    def next(self) -> int:
        """Position of the next event."""
        return len(self._events) + 1

    def batch(
        self,
        events: list[tuple[str, str, dict[str, Any]]],
        lines: list[dict] | None = None,
        open_rows: list[tuple[Any, ...]] | None = None,
        recorded: str = "",
        supersedes: int = 0,
    ) -> int:
        """Events (kind, day or days, payload), lines, open rows (subject … n as in the table). The end's position."""
        first, end = self.next, self.next + len(events) - 1
        journal = self._batches[-1].journal if self._batches else bytes(32)
        for no, (kind, days, payload) in enumerate(events, 1):
            seq = self.next
            a, _, z = days.partition("/")
            at = recorded or f"2026-01-01T00:{seq // 60 % 60:02}:{seq % 60:02}.{seq:06}Z"
            earlier = self._events[supersedes - 1].columns.event_id if supersedes else None
            event = {
                "kind": kind,
                "occurred": {"edtf": days, "first": a, "last": z or a},
                "payload": payload,
                "actor": "p-1",
                "seq": seq,
            }
            data = json.dumps(event).encode()
            prev = self._events[-1].leaf if self._events else bytes(32)
            columns = Derived(seq, f"id-{seq}", kind, a, z or a, at, earlier, None, end, prev)
            self._events.append(StoredEvent(columns, leaf(data), data))
            assert end == seq + len(events) - no
        rows = [
            (
                *(end, end, each["effect"], each["subject"], each["counts_on"], each["could_from"]),
                *(each[c] for c in CELL),
                *(each["reason"], each["delta"]),
            )
            for each in lines or []
        ]
        self._postings += rows
        self._open += [(end, *row) for row in open_rows or []]
        journal = digest(journal, [typed_posting(row) for row in rows])
        self._batches.append(BatchRow(end, first, f"b-{end}", journal))
        return end

    def head(self) -> Head:
        if not self._events:
            return Head()
        last = self._events[-1]
        return Head(last.columns.seq, last.leaf, self._batches[-1].journal, last.columns.recorded)

    def events(self, after: int = 0, upto: int | None = None) -> Iterator[StoredEvent]:
        yield from (e for e in self._events if after < e.columns.seq <= (upto or 10**9))

    def posting_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        yield [r for r in self._postings if after < r[0] <= (upto or 10**9)]

    def open_row_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        yield [r for r in self._open if after < r[0] <= (upto or 10**9)]

    def batches(self, after: int = 0, upto: int | None = None) -> Iterator[BatchRow]:
        yield from (b for b in self._batches if after < b.known_from <= (upto or 10**9))

    def by_event_id(self, event_id: str) -> StoredEvent:
        return next(e for e in self._events if e.columns.event_id == event_id)

    def segments(self) -> list[Segment]:
        return []

    def text(self, commit: str) -> str:
        raise NoSuch(commit)


def ref(id: str, called: str) -> dict[str, str]:
    return {"as": called, "id": id}


def register(paper: Paper) -> int:
    """Houses h-a and h-b, party o-p, enclosures e-1, e-2 (of h-a), e-9 (of h-b), taxa t-x and t-y."""
    day = "2020-01-01"
    book = {"clock_kind": "simulated", "time_zone": "Europe/Lisbon", "log_id": "00", "rules": 1}
    house = {"time_zone": "Europe/Lisbon", "hemisphere": "north"}
    tank = {"house": ref("h-a", "AA"), "purpose": "exhibit", "section": "hall"}
    return paper.batch(
        [
            ("book", day, book),
            ("house", day, {"house": ref("h-a", "AA"), "name": "House A", **house}),
            ("house", day, {"house": ref("h-b", "BB"), "name": "House B", **house}),
            ("party", day, {"party": ref("o-p", "PX"), "name": "Partner P", "sort": "institution"}),
            ("enclosure", day, {"enclosure": ref("e-1", "T1"), "name": "Tank 1", **tank}),
            ("enclosure", day, {"enclosure": ref("e-2", "T2"), "name": "Tank 2", **tank, "purpose": "quarantine"}),
            ("enclosure", day, {"enclosure": ref("e-9", "U9"), "name": "Pool 9", **tank, "house": ref("h-b", "BB")}),
            ("taxon", day, {"taxon": ref("t-x", "Xus xus"), "rank": "species", "class": "Fishes", "common_name": "x"}),
            ("taxon", day, {"taxon": ref("t-y", "Yus yus"), "rank": "species", "class": "Birds"}),
        ]
    )


def day(text: str) -> date:
    return date.fromisoformat(text)
