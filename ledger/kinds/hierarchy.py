"""The order of rank in a social unit, as it was seen.

What happened
    Somebody watched who gives way to whom, and wrote the order down.

When it counts
    It counts nothing; it is the order seen on its day, until a later one is seen.

What it changes
    No figure. Which animal is presumed to come next where a place opens is read from it, and always said to be
    presumed.

What it does not mean
    Membership: that is an association. Nor that an order still holds after an animal came or went.

Example
    {"kind": "hierarchy", "occurred": "2025-01-15", "payload": {"unit": "T3-A",
    "order": ["MS-2021-0003", "MS-2021-0004", ["MS-2023-0011", "MS-2023-0012"]], "basis": "aggression"}}
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from ledger.acts import Act
from ledger.kinds._bonds import SomeAnimals, all_different, listed
from ledger.kinds.base import Carried, Look, Text, Unit

NAME = "hierarchy"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("unit",)


def _ranks(value: Any) -> Any:
    """A rank held by one animal may be written without a list of its own."""
    value = listed(value)
    return [listed(rank) for rank in value] if isinstance(value, list) else value


Order = Annotated[list[SomeAnimals], BeforeValidator(_ranks), Field(min_length=1)]


class Payload(Carried):
    """`order`: highest first; those in a list of their own share a rank. `unranked`: seen, and of no known rank."""

    unit: Unit
    order: Order
    unranked: SomeAnimals | None = None
    basis: Literal["seen", "aggression", "feeding", "size", "other"] | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Nothing; but each animal has one rank."""
    del look
    all_different("order", [*(ref for rank in p.order for ref in rank), *(p.unranked or ())])
    return p


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
