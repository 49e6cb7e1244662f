"""An animal was seen, or looked for and not seen.

What happened
    Somebody went through an enclosure, as at a stock take, and saw the animal, or did not.

When it counts
    It counts nothing; it is shown at its day.

What it changes
    No figure, nor where the animal stands. Animals not seen for long are listed.

What it does not mean
    That it is missing, or moved, or back: those are entries of their own. How many of a lot were seen is a count. An
    escaped animal that is only seen is a note.

Example
    {"kind": "sighting", "occurred": "2025-01-03", "payload": {"animal": "MS-2024-0117", "seen": true,
    "enclosure": "T3"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._subject import OneSubject
from ledger.kinds.base import Enclosure, Text

NAME = "sighting"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(OneSubject):
    """`seen` is true or false; `enclosure` where somebody looked. Of a lot: some of it were seen, or none."""

    seen: bool
    enclosure: Enclosure | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
