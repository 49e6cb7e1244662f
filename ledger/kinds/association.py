"""An animal belongs to a unit, lives with another, rears young, or holds a territory.

What happened
    Somebody saw that it does, from a day on or over some time.

When it counts
    From its day, or from `since` where it was so before; until `until`, or until one of the two leaves or dies.

What it changes
    No figure. Members of a social unit are known by it, hosts and their guests, and who reared whom.

What it does not mean
    A bond of two mates: that is a pairing. Parents: a helper or foster parent is none.

Example
    {"kind": "association", "occurred": "2024-03-01", "payload": {"animal": "MS-2021-0003", "relation": "member",
    "unit": "T3-A", "since": "2023-11"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._bonds import all_different, in_order
from ledger.kinds._fields import Edtf, refuse
from ledger.kinds._subject import OneSubject
from ledger.kinds.base import Brood, Enclosure, Look, Subject, Text, Unit, Word

NAME = "association"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(OneSubject):
    """`member` of a `unit`; `host`: it lives on or with the host named in `with`; `rearing` of `with` or `brood`.

    `seen_together` with those in `with`; `territory` at a `place`. When it is over, `until` is learnt and added.
    """

    relation: Literal["member", "host", "rearing", "seen_together", "territory"]
    unit: Unit | None = None
    with_: Subject | None = Field(default=None, alias="with")
    brood: Brood | None = None
    role: Literal["dam", "sire", "helper", "foster", "by_hand"] | None = None
    place: Word | None = None
    enclosure: Enclosure | None = None
    since: Edtf | None = None
    until: Edtf | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _fits(self) -> Self:
        needed = {"member": ("unit",), "host": ("with",), "seen_together": ("with",), "territory": ("place",)}
        takes = needed.get(self.relation, ("with", "brood"))
        given = {"unit": self.unit, "with": self.with_, "brood": self.brood, "place": self.place}
        said = {name for name, value in given.items() if value is not None}
        if not said & set(takes):
            wanted = " or ".join(takes)
            refuse(takes[0], f"no {wanted}", f"{wanted}, for {self._called()}", f"Say {takes[0]}=….")
        if extra := sorted(said - set(takes)):
            refuse(extra[0], f"{extra[0]}, for {self._called()}", " or ".join(takes), f"Leave {extra[0]} out.")
        if self.role is not None and self.relation != "rearing":
            refuse("role", f"a role, for {self._called()}", "rearing", "Leave role out, or say relation=rearing.")
        in_order("until", self.since, self.until)
        return self

    def _called(self) -> str:
        return self.relation.replace("_", " ")


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but none is with itself."""
    del look
    if p.with_ is not None:
        all_different("with", (p.subject(), p.with_))
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
