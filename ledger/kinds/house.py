"""A member institution, whose animals this book keeps.

What happened
    A house was entered as a member of the book.

When it counts
    From this day its enclosures and animals can be entered.

What it changes
    No figure by itself. What a house holds and what it owns is worked out for members only; its time zone
    ends its days, its hemisphere reads its seasons, its number pattern proposes its accession numbers.

What it does not mean
    Any other institution: partners, dealers and authorities are parties.

Example
    {"kind": "house", "occurred": "2023-01-02", "payload": {"house": "MS", "name": "Marrow Sound Aquarium",
    "time_zone": "Europe/Lisbon", "hemisphere": "north", "number_pattern": "MS-{year}-{n:04}"}}
"""

from __future__ import annotations

import re
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field

from ledger.acts import Act
from ledger.kinds._fields import Zone, refuse
from ledger.kinds.base import Carried, Code, NewHouse, Word

NAME = "house"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("house",)

_PATTERN = re.compile(r"^[^{}]*(\{year\})?[^{}]*\{n(:0?\d)?\}[^{}]*$")


def _number_pattern(text: str) -> str:
    if not _PATTERN.match(text):
        way_out = "Write it as in MS-{year}-{n:04}."
        refuse("number_pattern", f"{text!r}", "a pattern with {n} and, if wanted, {year} before it", way_out)
    return text


class Payload(Carried):
    """`number_pattern` proposes numbers; `keep_years` is how long records are kept after an animal is gone."""

    house: NewHouse
    name: Word
    time_zone: Zone
    hemisphere: Literal["north", "south"]
    number_pattern: Annotated[Code, AfterValidator(_number_pattern)] | None = None
    keep_years: int | None = Field(default=None, ge=1, le=500)

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
