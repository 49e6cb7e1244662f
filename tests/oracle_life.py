"""A life by plain walking: day after day over every posting, event after event over every stored payload."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

FOLLOWED = ("in_transit", "escaped", "missing")


class Walked:
    """One book's log and journal, read once, asked by going through all of it."""

    def __init__(self, book: Any) -> None:
        self.events = list(book.events())
        self.lines = list(book.store.postings())
        by_id = {event["event_id"]: event for event in self.events}
        self.root: dict[int, int] = {}
        for event in self.events:
            before = by_id.get(event["supersedes"])
            self.root[event["seq"]] = event["seq"] if before is None else self.root[before["seq"]]

    def subjects(self) -> set[str]:
        return {posting.line.subject for posting in self.lines}

    def places(self, subject: str, on: date, known: int) -> dict[date, Counter[str]]:
        """At each close from the first line to `on`: how many of its animals stand where, of those a life follows."""
        mine = [p for p in self.lines if p.line.subject == subject and p.known_from <= known]
        if not mine:
            return {}
        out = {}
        day = date.fromordinal(min(p.line.counts_on for p in mine))
        while day <= on:
            stand: Counter[str] = Counter()
            for posting in mine:
                line = posting.line
                place, owner = line.cell.place, line.cell.owner
                ours = place.startswith("o-") and owner.startswith("h-")
                if line.counts_on <= day.toordinal() and (place.startswith("e-") or place in FOLLOWED or ours):
                    stand[place] += line.delta
            out[day] = Counter({place: n for place, n in stand.items() if n})
            day += timedelta(days=1)
        return out

    def line_of(self, root: int, known: int) -> list[int]:
        """Positions of a line of corrections, known by then."""
        return [e["seq"] for e in self.events if self.root[e["seq"]] == root and end(e) <= known]

    def naming(self, subject: str, known: int) -> set[int]:
        """First events of the lines of corrections in which any event, known by then, names the subject."""
        return {self.root[e["seq"]] for e in self.events if end(e) <= known and subject in ids(e["payload"])}

    def newest(self, root: int, known: int) -> dict[str, Any]:
        return self.events[max(self.line_of(root, known)) - 1]

    def standing(self, subject: str, on: date, known: int) -> set[int]:
        """Of those, the ones whose newest event is not struck out, still names it, and surely occurred by the day."""
        out = set()
        for root in self.naming(subject, known):
            event = self.newest(root, known)
            by_then = date.fromisoformat(event["occurred"]["last"]) <= on
            if event["kind"] != "void" and subject in ids(event["payload"]) and by_then:
                out.add(root)
        return out


def end(event: dict[str, Any]) -> int:
    """Where the batch of an event ends: from there it is known."""
    return event["seq"] - event["batch"]["no"] + event["batch"]["of"]


def ids(value: Any) -> set[str]:
    """Every id a payload names, however deep."""
    return set(_ids(value))


def _ids(value: Any) -> Iterator[str]:
    if isinstance(value, list):
        for part in value:
            yield from _ids(part)
    elif isinstance(value, dict):
        if isinstance(value.get("id"), str):
            yield value["id"]
        for part in value.values():
            yield from _ids(part)
