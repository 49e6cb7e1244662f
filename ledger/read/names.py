"""What things are called, as known at a position: houses, parties, enclosures, taxa, persons, accession numbers.

Read from the events that stand, so a name put right later is right in every report that knows of it, and a
report as known before shows it as it was. Enclosures change in time too: they are as on the day asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read.copy import AsOf, Copy, Standing

_REGISTER: Final = ("book", "house", "party", "person", "taxon", "enclosure", "enclosure_changed", "enclosure_closed")
_NUMBERED: Final = ("opening", "hatching", "birth", "acquisition", "transfer", "split", "draw")


class Thing(NamedTuple):
    """One named thing. `code` as people type it; `name` as people say it, the code where there is no other."""

    id: str
    sort: str  # house party enclosure taxon person
    code: str
    name: str
    fields: dict[str, Any]


def _id(value: Any) -> str:
    return str(value.get("id") or "") if isinstance(value, dict) else ""


def _as(value: Any) -> str:
    return str(value.get("as") or "") if isinstance(value, dict) else ""


class Names:
    """Names as known at `asof.known`, enclosures as they were on `asof.on`.

    Frames: `taxa` (taxon_id, taxon, common_name, class, rank, unit), `enclosures` (place, code, name, house,
    section, purpose, parent, setting), `houses` and `parties` (id, code, name, and sort), `numbers` (subject,
    number, house, animal_name). `unit` is animals, colonies or not_counted.
    """

    def __init__(self, copy: Copy, asof: AsOf) -> None:
        self.asof = asof
        self._things: dict[str, Thing] = {}
        self._book: dict[str, Any] = {}
        for event in copy.standing(_REGISTER, asof.known):
            self._register(event)
        self._change_enclosures(copy.standing(("enclosure_changed", "enclosure_closed"), asof.known))
        self._numbers = _numbers(copy.standing(_NUMBERED, asof.known), self)

    def _register(self, event: Standing) -> None:
        payload, kind = event.payload, event.kind
        if kind == "book":
            self._book = payload
            return
        if kind in ("enclosure_changed", "enclosure_closed"):
            return
        own = payload[kind]
        code = _as(own) or str(payload.get("code") or "") or _id(own)
        name = payload.get("name")
        spoken = code if kind in ("taxon", "person") else name if isinstance(name, str) else code
        self._things[_id(own)] = Thing(_id(own), kind, code, spoken, dict(payload))

    def _change_enclosures(self, events: list[Standing]) -> None:
        for event in sorted(events, key=lambda e: (e.last, e.root)):
            thing = self._things.get(_id(event.payload.get("enclosure")))
            if thing is None or event.last > self.asof.on:
                continue
            changed = {k: v for k, v in event.payload.items() if k not in ("enclosure", "note", "code")}
            if event.kind == "enclosure_closed":
                changed = {"closed": event.last.isoformat()}
            code = str(event.payload.get("code") or thing.code)
            name = str(changed.get("name", thing.name))
            self._things[thing.id] = Thing(thing.id, thing.sort, code, name, {**thing.fields, **changed})

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
        return next((n for n, h, _ in known if h == house), known[0][0] if known else subject)

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
                "parent": _id(t.fields.get("parent")),
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
            at = self._things.get(_id(at.fields.get("parent")))
        return ""

    def house_of(self, enclosure: str) -> str:
        """The id of the house an enclosure belongs to; empty where it is not known."""
        thing = self._things.get(enclosure)
        return _id(thing.fields.get("house")) if thing else ""

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
            {"subject": s, "number": n, "house": h, "animal_name": name}
            for s, known in self._numbers.items()
            for n, h, name in known
        ]
        return _frame(rows, ("subject", "number", "house", "animal_name"))


def _frame(rows: list[dict[str, str]], columns: Sequence[str]) -> pl.DataFrame:
    return pl.DataFrame(rows, schema=dict.fromkeys(columns, pl.String))


def _numbers(events: list[Standing], names: Names) -> dict[str, list[tuple[str, str, str]]]:
    """Subject -> (number, house, name of the animal), by order of being given."""
    out: dict[str, list[tuple[str, str, str]]] = {}
    for event in events:
        payload = event.payload
        receiver = _id(payload.get("to"))
        new = payload.get("new_number")
        for field in ("animal", "lot", "new"):
            subject = _id(payload.get(field))
            if not subject or (event.kind in ("split", "draw") and field != "new"):
                continue
            if subject not in out:
                house = _house(payload, names, out)
                out[subject] = [(_bare(_as(payload[field])), house, str(payload.get("name") or ""))]
            elif new:
                out[subject].append((_bare(_as(new) or str(new)), receiver, ""))
    return out


def _house(payload: dict[str, Any], names: Names, out: dict[str, list[tuple[str, str, str]]]) -> str:
    holder = _id(payload.get("holder")) or names.house_of(_id(payload.get("enclosure")))
    if holder:
        return holder
    source = out.get(_id(payload.get("lot")), [])
    return source[0][1] if source else _id(payload.get("to"))


def _bare(number: str) -> str:
    """A number without the house it was typed with (`CODE:number`)."""
    return number.rpartition(":")[2]
