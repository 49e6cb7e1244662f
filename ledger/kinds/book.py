"""The first event of every log: which book this is, and by which rules it is kept.

What happened
    A book was opened. Nothing is recorded before it.

When it counts
    On the day it was made; `floor` is the first day anything in the book may have occurred.

What it changes
    No figure. It fixes for good the identity of the log, how bytes are written and hashed, the number of
    the rules, whose clock gives recording times, the time zone in which days end, and the hemisphere in
    which seasons are read.

What it does not mean
    That the house began then. What was on hand comes in by openings. A book of a simulated clock holds
    invented recording times and says so with every figure.

Example
    {"kind": "book", "occurred": "2026-01-02", "payload": {"log_id": "5b0e8d1c9f3a4e72a6c4d9e01b7f2c38",
    "canonical": "rfc8785", "hash": "sha256", "tree": "rfc9162", "unicode": "14.0.0", "rules": 1,
    "clock_kind": "system", "time_zone": "Europe/Lisbon", "hemisphere": "north", "floor": "1990-01-01"}}
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from ledger.acts import Act
from ledger.kinds._fields import Day, Zone
from ledger.kinds.base import Carried

NAME = "book"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ()


class Payload(Carried):
    """What is fixed for the whole log."""

    log_id: Annotated[str, StringConstraints(pattern="^[0-9a-f]{32}$")]
    canonical: Literal["rfc8785"]
    hash: Literal["sha256"]
    tree: Literal["rfc9162"]
    unicode: Annotated[str, StringConstraints(pattern=r"^\d{1,3}\.\d{1,3}\.\d{1,3}$")]
    rules: int = Field(strict=True, ge=1)
    clock_kind: Literal["system", "simulated"]
    time_zone: Zone
    hemisphere: Literal["north", "south"]
    floor: Day

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
