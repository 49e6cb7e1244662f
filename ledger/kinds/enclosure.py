"""A place where animals live: a tank, a pool, an aviary.

What happened
    An enclosure was taken into use.

When it counts
    From this day animals can stand in it.

What it changes
    No figure. A census can be asked by enclosure, section and purpose.

What it does not mean
    That it stands empty or full, or that those in it live as one group. An enclosure may be part of
    another; animals stand in the innermost.

Example
    {"kind": "enclosure", "occurred": "2023-01-02", "payload": {"enclosure": "T3", "name": "Kelp tank",
    "house": "MS", "section": "north hall", "purpose": "exhibit", "setting": "indoors"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal

from ledger.acts import Act
from ledger.kinds.base import Carried, Enclosure, House, NewEnclosure, Word

NAME = "enclosure"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("enclosure",)

Purpose = Literal["exhibit", "reserve", "nursery", "quarantine", "holding", "off_site"]


class Payload(Carried):
    """`enclosure` is the code people type; `parent` the enclosure it is part of."""

    enclosure: NewEnclosure
    name: Word
    house: House
    parent: Enclosure | None = None
    section: Word | None = None
    purpose: Purpose
    setting: Literal["indoors", "outdoors"] | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
