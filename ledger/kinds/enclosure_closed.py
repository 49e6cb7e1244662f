"""An enclosure is no longer used.

What happened
    It was given up, pulled down or joined to another.

When it counts
    From the day after: nothing can stand in it then.

What it changes
    No figure. It is refused while animals stand in it: they are moved first.

What it does not mean
    That it never was. Earlier days keep it.

Example
    {"kind": "enclosure_closed", "occurred": "2024-11-30", "payload": {"enclosure": "R2"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds.base import Carried, Enclosure, Text

NAME = "enclosure_closed"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("enclosure",)


class Payload(Carried):
    """Which enclosure."""

    enclosure: Enclosure
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
