"""The day sheet of a section came in.

What happened
    The registrar has the sheet of that section for that day, with entries or with nothing to report.

When it counts
    It counts nothing; it is shown at the day the sheet is about.

What it changes
    No figure. A day without a sheet is visible as one, and so is a day on which nothing happened.

What it does not mean
    That what the sheet says is entered: those are entries of their own.

Example
    {"kind": "sheet_received", "occurred": "2024-10-03", "payload": {"house": "MS", "section": "north hall",
    "nothing_to_report": true}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds.base import Carried, House, Text, Word

NAME = "sheet_received"
VERSION = 1
ONE_DAY = True
SUBJECT_FIELDS: tuple[str, ...] = ()


class Payload(Carried):
    """`section` as the enclosures have it; `occurred` is the day the sheet is about."""

    house: House
    section: Word
    nothing_to_report: bool | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
