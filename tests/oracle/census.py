"""What the pages say a book holds, on a day, as known at a position."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from oracle.log import Fact, batch_end, homes, standing, subjects
from oracle.worlds import Cells, Timeline, Told, replay, tell

Census = dict[tuple[str, ...], int]  # (subject, taxon, sex, place, holder, owner, standing) -> how many


class Faults(NamedTuple):
    """Misreadings to plant, each of which some history must show up."""

    own_last_day: bool = False  # an event counts on its own last day, whatever the others prove
    own_first_day: bool = False  # it counts on its first day
    void_leaves: bool = False  # a striking out leaves the event standing
    old_stays: bool = False  # what a correction replaces is not taken back
    counts_first: bool = False  # a count stands before the departures of its day
    inside_batch: bool = False  # an event is known from its own position, not from the end of its batch
    new_place: bool = False  # a correction takes a new place in the order of its day
    rewrites_past: bool = False  # what is known later is read into what was known earlier


def at(line: Timeline, on: int) -> Cells:
    got: Cells = {}
    for day, cells, _ in line:
        if day > on:
            break
        got = cells
    return got


def places_at(line: Timeline, on: int) -> dict[str, int]:
    got: dict[str, int] = {}
    for day, _, places in line:
        if day > on:
            break
        got = places
    return got


class Impossible(Exception):
    """What stands cannot be replayed: the book should have refused it."""


class Oracle:
    """Reads a growing log; remembers what it told of a subject while the same events stand."""

    def __init__(self, faults: Faults | None = None) -> None:
        self.faults = faults or Faults()
        self.events: list[Mapping[str, Any]] = []
        self._told: dict[tuple[str, tuple[int, ...]], Told | None] = {}
        self._facts: dict[int, dict[str, list[Fact]]] = {}
        self.homes: dict[str, str] = {}

    def read(self, events: Sequence[Mapping[str, Any]]) -> None:
        """Further events of the log."""
        self.events.extend(events)
        self.homes.update(homes(events))

    def facts(self, known: int) -> dict[str, list[Fact]]:
        """What stands of every subject, as of the end of the batch at or before a position."""
        if self.faults.rewrites_past:
            known = len(self.events)
        end = known if self.faults.inside_batch else batch_end(self.events, known)
        if end not in self._facts:
            by: dict[str, list[Fact]] = {}
            for f in self._standing(end):
                for s in subjects(f.payload):
                    by.setdefault(s, []).append(f)
            self._facts[end] = by
        return self._facts[end]

    def _standing(self, end: int) -> list[Fact]:
        out = standing(self.events, end, self.faults.void_leaves)
        if self.faults.new_place:
            out = sorted((f._replace(root=f.seq) for f in out), key=lambda f: f.root)
        if self.faults.old_stays:
            gone = {f.seq for f in out}
            cut = [e for e in self.events[:end] if e["seq"] in gone or e["supersedes"] is None]
            out += [f for f in standing([{**e, "supersedes": None} for e in cut], end) if f.seq not in gone]
        return out

    def told(self, subject: str, known: int) -> Told | None:
        """All worlds of a subject; None: too many to try."""
        facts = self.facts(known).get(subject, [])
        key = (subject, tuple(f.seq for f in facts))
        if key not in self._told:
            told = tell(subject, facts, self.homes, self.faults.counts_first)
            if told is not None and (self.faults.own_last_day or self.faults.own_first_day):
                days = [f.last if self.faults.own_last_day else f.first for f in told.facts]
                told = told._replace(certain=replay(subject, told.facts, days, self.homes))
            self._told[key] = told
        return self._told[key]

    def certain(self, subject: str, known: int) -> Timeline | None:
        """The timeline on the certain days; None: too many worlds to try."""
        told = self.told(subject, known)
        if told is None:
            return None
        if told.certain is None:
            raise Impossible(f"{subject} as of @{known}: {'days' if told.worlds else 'no world'} {told.facts}")
        return told.certain

    def census(self, on: int, known: int) -> Census:
        """Live cells of every subject. A subject of too many worlds is left out (see `skipped`)."""
        out: Census = {}
        for subject in self.facts(known):
            line = self.certain(subject, known)
            for cell, n in at(line, on).items() if line else ():
                out[(subject, *cell)] = n
        return out

    def places(self, on: int, known: int) -> Counter[tuple[str, str]]:
        """(subject, place or account) -> how many; every subject sums to zero."""
        out: Counter[tuple[str, str]] = Counter()
        for subject in self.facts(known):
            line = self.certain(subject, known)
            for place, n in places_at(line, on).items() if line else ():
                out[subject, place] = n
        return out

    def skipped(self, known: int) -> set[str]:
        return {s for s in self.facts(known) if self.told(s, known) is None}

    def range_of(self, on: int, known: int, keep: Callable[[tuple[str, ...]], bool]) -> tuple[int, int]:
        """Least and most over all worlds of the filtered number; subjects are independent of each other."""
        least = most = 0
        for subject in self.facts(known):
            told = self.told(subject, known)
            if told is None:
                continue
            figures = {sum(n for c, n in at(w, on).items() if keep((subject, *c))) for w in told.worlds}
            least, most = least + min(figures), most + max(figures)
        return least, most
