"""An animal that no house of the book has held: a parent, a mate, the donor of a clone.

What happened
    Somebody outside has or had it, and the house needs to name it.

When it counts
    From this day it can be named, by its number where it lives.

What it changes
    No figure, and no census ever shows it. If it arrives one day, the transfer or acquisition that names its number
    brings it in, and what was said of it stays with it.

What it does not mean
    A number of the house: that is given when it arrives.

Example
    {"kind": "outside_animal", "occurred": "2024-05-01", "payload": {"animal": "OSC-311", "party": "OSC",
    "taxon": "Phoca vitulina", "sex": "m", "born": "2012-06~"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds._fields import Edtf
from ledger.kinds.base import Animal, Carried, Code, NewAnimal, Party, Sex, Taxon, Text, Word

NAME = "outside_animal"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal",)


class Payload(Carried):
    """`animal` is the number it is named by; `numbers_there` those it bears besides; `dam` and `sire` its parents."""

    animal: NewAnimal
    party: Party | None = None
    taxon: Taxon
    sex: Sex | None = None
    born: Edtf | None = None
    numbers_there: list[Code] | None = None
    dam: Animal | None = None
    sire: Animal | None = None
    name: Word | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody, and is nowhere."""
    return ()
