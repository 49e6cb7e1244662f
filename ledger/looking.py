"""What a kind may ask of the book while it fills in what nobody need type (`kinds.base.Look`)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ledger.acts import Cell
from ledger.index import Index
from ledger.kinds.base import Event, Ref


class Looking:
    """What a kind may ask (`kinds.base.Look`), at one event's last possible day and without that event."""

    def __init__(self, index: Index, day: int, root: int, *, latest: bool = False) -> None:
        self.index, self.day, self.root, self.latest = index, day, root, latest

    def house_of(self, enclosure: Ref) -> Ref:
        """The member house of an enclosure."""
        return self.ref(self.index.things[enclosure.id or ""].house)

    def cells(self, subject: Ref) -> dict[Cell, int]:
        """Where its animals stand at the close of that day."""
        return self.index.cells(subject.id or "", self.day, self.root, latest=self.latest)

    def ref(self, id: str) -> Ref:
        """A reference by id, called as it is called now; persons by id alone."""
        thing = self.index.things.get(id)
        if thing is None or thing.fields.get("sort") == "natural_person" or thing.sort == "person":
            return Ref(id=id)
        return Ref(as_=thing.code, id=id)

    def is_new(self, subject: Ref) -> bool:
        """Tell whether no other standing event brings it in: it is new to the book, or an outside animal so far."""
        return not self.index.arrived(subject.id or "", self.root)

    def fields(self, thing: Ref) -> Mapping[str, Any]:
        """What the register says about a thing on that day."""
        return self.index.fields_on(thing.id or "", self.day)

    def agreements(self, subject: Ref) -> list[Ref]:
        """Agreements under which it came or went by that day, the newest first."""
        standing = (self.index.standing.get(root) for root in self.index.of_subject.get(subject.id or "", ()))
        by_then = sorted((e for e in standing if e and e.last <= self.day), key=lambda e: (-e.last, -e.root))
        named = (getattr(event.payload, "agreement", None) for event in by_then)
        return [ref for ref in named if isinstance(ref, Ref)]

    def last_day(self) -> int:
        """The event's last possible day."""
        return self.day

    def event(self, named: str) -> Event | None:
        """A standing event by position or id, the newest of its line; never this one."""
        seq = self.index.seq_of(named)
        found = self.index.standing.get(self.index.root_of[seq]) if seq is not None else None
        if found is None or found.root == self.root:
            return None
        return Event(found.event_id, found.kind, found.last, found.payload)
