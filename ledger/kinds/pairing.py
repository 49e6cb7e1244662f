"""Two animals are a pair.

What happened
    A bond was seen to stand between two, or they were put together as a pair, or came as one.

When it counts
    From its day; from `since` where it stood already before, also before either came to the house.

What it changes
    No figure. The bond stands until it is parted, one of the two leaves or dies, or a change of sex ends it.

What it does not mean
    Young: a brood names its own parents. Two of one sex may be a pair; more than two are pairs of two.

Example
    {"kind": "pairing", "occurred": "2025-01-10", "payload": {"a": "MS-2024-0118", "b": "MS-2024-0071",
    "basis": "greeting", "enclosure": "R2"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import Act
from ledger.kinds._bonds import all_different
from ledger.kinds._fields import Edtf
from ledger.kinds.base import Animal, Carried, Enclosure, Look, Text, Unit

NAME = "pairing"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("a", "b")


class Payload(Carried):
    """`a` and `b`, in any order; `basis`: how it is known; `since`: when it began, if before the day of the entry."""

    a: Animal
    b: Animal
    basis: Literal["greeting", "courtship", "shared_nest", "shared_host", "introduced", "arrived_as_pair", "assumed"]
    since: Edtf | None = None
    unit: Unit | None = None
    enclosure: Enclosure | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but the two are two."""
    del look
    all_different("b", (p.a, p.b))
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
