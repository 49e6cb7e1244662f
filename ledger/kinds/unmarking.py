"""An animal no longer bears a mark.

What happened
    A mark was taken off, fell off, or cannot be read any more.

When it counts
    From this day.

What it changes
    No figure. The animal is no longer found by the mark as one it bears; earlier days keep it.

What it does not mean
    That the marking was wrong. A mistake is put right by a correction of the marking.

Example
    {"kind": "unmarking", "occurred": "2025-01-20", "payload": {"animal": "MS-2024-0117",
    "scheme": "elastomer", "value": "L2"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import Act
from ledger.kinds._subject import OneSubject
from ledger.kinds.base import Text, Word

NAME = "unmarking"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(OneSubject):
    """Scheme and value as they were put on."""

    scheme: Literal[
        "transponder",
        "ring",
        "band",
        "elastomer",
        "tag",
        "notch",
        "photo_pattern",
        "call_name",
        "party_number",
    ]
    value: Word
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
