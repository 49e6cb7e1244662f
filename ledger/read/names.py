"""What things are called, as known at a position: houses, parties, enclosures, taxa, persons, accession numbers.

Read from the events that stand, so a name put right later is right in every report that knows of it, and a
report as known before shows it as it was. What changes in time (enclosures, parties, permits, agreements, names of
taxa) is as on the day asked about; the names of taxa may be asked for as they are today.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cached_property
from typing import Any

import polars as pl

from ledger.read import things
from ledger.read.copy import AsOf, Copy
from ledger.read.numbers import GIVING, id_of, numbers, uncounted
from ledger.read.things import Thing

__all__ = ["Names", "Thing"]


class Names:
    """Names as known at `asof.known`, as they were on `asof.on`.

    With `today_names` taxa bear the names accepted today, as known now, and those united stand under the one that
    stayed; else the names in use on the day. Frames: `taxa` (taxon_id, taxon, common_name, class, rank, unit),
    `enclosures` (place, code, name, house, section, purpose, parent, setting), `houses` and `parties` (id, code,
    name, and sort), `numbers` (subject, number, house, animal_name). `unit` is animals, colonies or not_counted.
    `uncounted`: ids of lots that are not counted, whatever their taxon is counted in.
    """

    def __init__(self, copy: Copy, asof: AsOf, *, today_names: bool = False) -> None:
        self.asof, self.today_names = asof, today_names
        made = [things.made(e) for e in copy.standing(tuple(things.MAKING), asof.known)]
        self._things: dict[str, Thing] = {thing.id: thing for thing in made}
        self._book = next((e.payload for e in copy.standing(("book",), asof.known)), {})
        self._change(copy)
        giving = copy.standing(GIVING, asof.known)
        self.uncounted = uncounted(giving)
        self._numbers = numbers(giving, self.house_of)

    def _change(self, copy: Copy) -> None:
        on, known = self.asof
        others = [kind for kind in things.CHANGING if kind not in things.NAMING]
        events = copy.standing(others, known)
        events += copy.standing(things.NAMING, copy.head.position if self.today_names else known)
        things.change(self._things, events, on, names_since=date.max if self.today_names else on)

    def accepted(self, taxon: str) -> str:
        """The id of the taxon that one was united into, on and on; itself where it stands."""
        seen = {taxon}
        while (at := self._things.get(taxon)) and (into := id_of(at.fields.get("united_into"))) not in ("", *seen):
            seen.add(into)
            taxon = into
        return taxon

    @cached_property
    def united(self) -> dict[str, str]:
        """Taxa that were united into another: id -> the id they stand under."""
        return {t.id: a for t in self.of("taxon") if (a := self.accepted(t.id)) != t.id}

    @property
    def book(self) -> dict[str, Any]:
        """The log's own first event: log_id, clock_kind, time_zone, hemisphere, floor, rules."""
        return self._book

    @property
    def simulated(self) -> bool:
        """True where recording times are invented: a demonstration or a test."""
        return self._book.get("clock_kind") == "simulated"

    @property
    def zone(self) -> str:
        """IANA name of the book's time zone."""
        return str(self._book.get("time_zone", "UTC"))

    def thing(self, id: str) -> Thing | None:
        """What is known of an id, or None where nothing is."""
        return self._things.get(id)

    def label(self, id: str) -> str:
        """How an id is called on a page; the id itself where nothing is known of it."""
        thing = self._things.get(id)
        return thing.name if thing else id

    def find(self, sort: str, text: str) -> str:
        """The id of a house, party, enclosure or taxon by id, code or name. Raises KeyError."""
        for thing in self._things.values():
            if thing.sort == sort and text in (thing.id, thing.code):
                return thing.id
        matches = [t.id for t in self._things.values() if t.sort == sort and t.name == text]
        if len(matches) != 1:
            raise KeyError(f"no {sort} {text!r} is known")
        return matches[0]

    def first_house(self) -> str:
        """The id of the book's first member house. Raises KeyError in a book without one."""
        for thing in self._things.values():
            if thing.sort == "house":
                return thing.id
        raise KeyError("no house is known")

    def number(self, subject: str, house: str | None = None) -> str:
        """The accession number of a subject at a house, else its first one; the id where none is known."""
        known = self._numbers.get(subject, [])
        return next((n.number for n in known if n.house == house), known[0].number if known else subject)

    def of(self, sort: str) -> list[Thing]:
        """All things of a sort, in the order they came into the book."""
        return [t for t in self._things.values() if t.sort == sort]

    @cached_property
    def taxa(self) -> pl.DataFrame:
        """All taxa: taxon_id, taxon (scientific name), common_name, class, rank, unit."""
        rows = [
            {
                "taxon_id": t.id,
                "taxon": t.name,
                "common_name": str(t.fields.get("common_name") or ""),
                "class": str(t.fields.get("class") or t.fields.get("class_") or ""),
                "rank": str(t.fields.get("rank") or ""),
                "unit": str(t.fields.get("counted_in") or "animals"),
            }
            for t in self.of("taxon")
        ]
        return _frame(rows, ("taxon_id", "taxon", "common_name", "class", "rank", "unit"))

    @cached_property
    def enclosures(self) -> pl.DataFrame:
        """All enclosures on the day: place (id), code, name, house (id), section, purpose, parent (id), setting."""
        rows = [
            {
                "place": t.id,
                "code": t.code,
                "name": t.name,
                "house": self.house_of(t.id),
                "section": self._inherited(t, "section"),
                "purpose": self._inherited(t, "purpose"),
                "parent": id_of(t.fields.get("parent")),
                "setting": self._inherited(t, "setting"),
            }
            for t in self.of("enclosure")
        ]
        return _frame(rows, ("place", "code", "name", "house", "section", "purpose", "parent", "setting"))

    def _inherited(self, thing: Thing, field: str) -> str:
        """A field of an enclosure, else of the one it is part of."""
        seen: set[str] = set()
        at: Thing | None = thing
        while at is not None and at.id not in seen:
            if at.fields.get(field):
                return str(at.fields[field])
            seen.add(at.id)
            at = self._things.get(id_of(at.fields.get("parent")))
        return ""

    def house_of(self, enclosure: str) -> str:
        """The id of the house an enclosure belongs to; empty where it is not known."""
        thing = self._things.get(enclosure)
        return id_of(thing.fields.get("house")) if thing else ""

    @cached_property
    def houses(self) -> pl.DataFrame:
        """Member houses: id, code, name."""
        return _frame([{"id": t.id, "code": t.code, "name": t.name} for t in self.of("house")], ("id", "code", "name"))

    @cached_property
    def parties(self) -> pl.DataFrame:
        """Outside parties: id, code, name, sort. A natural person goes by the code."""
        rows = [
            {"id": t.id, "code": t.code, "name": t.name, "sort": str(t.fields.get("sort") or "")}
            for t in self.of("party")
        ]
        return _frame(rows, ("id", "code", "name", "sort"))

    @cached_property
    def numbers(self) -> pl.DataFrame:
        """Accession numbers: subject, number, house (id), animal_name."""
        rows = [
            {"subject": s, "number": n.number, "house": n.house, "animal_name": n.name}
            for s, known in self._numbers.items()
            for n in known
        ]
        return _frame(rows, ("subject", "number", "house", "animal_name"))


def _frame(rows: list[dict[str, str]], columns: Sequence[str]) -> pl.DataFrame:
    return pl.DataFrame(rows, schema=dict.fromkeys(columns, pl.String))
