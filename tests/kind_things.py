"""Stored references and a book on paper, for the tests of what kinds do and fill in."""

from __future__ import annotations

from dataclasses import dataclass, field

from ledger.acts import Cell
from ledger.kinds import KINDS
from ledger.kinds.base import Ref

A, G, N = ({"as": "x", "id": i} for i in ("a-1", "g-1", "g-2"))
E1, E2, T, H, O = ({"as": "x", "id": i} for i in ("e-1", "e-2", "t-1", "h-1", "o-1"))  # noqa: E741
H2, T2 = {"as": "x", "id": "h-2"}, {"as": "x", "id": "t-2"}
IN_HOUSE = {"taxon": T, "enclosure": E1, "holder": H, "owner": H, "standing": "collection"}
MALE = (("male", 1),)
TWO = (("unknown", 2),)


def acts(name, payload):
    """Acts of a stored payload."""
    kind = KINDS[name]
    return kind.acts(kind.Payload.model_validate(payload))


@dataclass
class Paper:
    """A look at a book on paper."""

    at: dict[str, dict[Cell, int]] = field(default_factory=dict)
    new: tuple[str, ...] = ()
    register: dict[str, dict[str, object]] = field(default_factory=dict)
    under: dict[str, tuple[str, ...]] = field(default_factory=dict)  # subject -> agreements

    def house_of(self, enclosure):
        return Ref.model_validate(H2 if enclosure.id == "e-9" else H)

    def cells(self, subject):
        return self.at.get(subject.id, {})

    def unnumbered(self, subject):
        return set()

    def ref(self, id):
        return Ref.model_validate({"as": id.upper(), "id": id})

    def is_new(self, subject):
        return subject.id in self.new

    def last_day(self):
        return 739_000  # in 2024

    def fields(self, thing):
        return self.register.get(thing.id, {})

    def agreements(self, subject):
        return [Ref.model_validate({"as": i.upper(), "id": i}) for i in self.under.get(subject.id, ())]

    def event(self, called):
        return None

    def about(self, kind, subject):
        return []

    def last_owners(self, subject):
        return {c.owner for c in self.cells(subject)}


def cell(place="e-1", sex="unknown", owner="h-1", holder="h-1", standing="collection"):
    return Cell("t-1", sex, place, holder, owner, standing)


def filled(name, payload, look):
    kind = KINDS[name]
    return kind.fill(kind.Payload.model_validate(payload), look)
