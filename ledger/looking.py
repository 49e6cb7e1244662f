"""What a kind may ask of the book while it fills in what nobody need type (`kinds.base.Look`)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ledger.acts import Cell, Enter, Entry
from ledger.fold import MANY, cells_on
from ledger.index import Index
from ledger.kinds import KINDS
from ledger.kinds.base import Event, Ref
from ledger.refs import named


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

    def unnumbered(self, subject: Ref) -> set[Cell]:
        """Where a lot stands at the close of that day whose young were not counted; empty for all other lots."""
        if not self.index.tale(subject.id or "").whole:  # a history with such a birth is told as a whole
            return set()
        entries = self.index.entries(subject.id or "", self.root)
        if not any(e.act.uncounted for e in entries):
            return set()
        return set(cells_on([_as_many(e) for e in entries], self.day, latest=self.latest))

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

    def event(self, called: str) -> Event | None:
        """A standing event by position or id, the newest of its line; never this one."""
        seq = self.index.seq_of(called)
        found = self.index.standing.get(self.index.root_of[seq]) if seq is not None else None
        if found is None or found.root == self.root:
            return None
        return Event(found.event_id, found.kind, found.last, found.payload)

    def about(self, kind: str, subject: Ref) -> list[Event]:
        """Other standing events of that kind about a subject, whether they move it or not, in the order of the log."""
        id_ = subject.id or ""
        roots = {e.root for e in self.index.naming("named", id_)} | self.index.of_subject.get(id_, set())
        standing = (self.index.standing.get(root) for root in sorted(roots - {self.root}))
        own = KINDS[kind].subject_fields
        return [
            Event(e.event_id, e.kind, e.last, e.payload)
            for e in standing
            if e is not None and e.kind == kind and id_ in {r.id for f, _, r in named(e.payload) if f.name in own}
        ]

    def last_owners(self, subject: Ref) -> set[str]:
        """Owners of its animals by that day; where all have gone, of the last that went."""
        owners = {cell.owner for cell in self.cells(subject) if cell.owner}
        if owners:
            return owners
        gone = [
            line
            for line in self.index.tale(subject.id or "").lines
            if line.delta < 0 and line.counts_on <= self.day and line.cell.owner and line.cell.holder
        ]
        last = max((line.counts_on for line in gone), default=0)
        return {line.cell.owner for line in gone if line.counts_on == last}


def _as_many(entry: Entry) -> Entry:
    """An arrival of young not counted, as of more than can ever go: so what is left still stands somewhere."""
    op = entry.act.op
    if not entry.act.uncounted or not isinstance(op, Enter):
        return entry
    return entry._replace(act=entry.act._replace(op=op._replace(amount=(("unknown", MANY),)), uncounted=False))
