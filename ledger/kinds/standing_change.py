"""An animal stands for something else now: collection, held for another, rehabilitation, feeder, study, on trial.

What happened
    It was taken into the collection, put to the feeders, taken on trial, and so on.

When it counts
    On this day; of a range, on its last possible day.

What it changes
    The row in which a census and a roll-forward show it; column *standing changed*, out of one standing and into the
    other. No total.

What it does not mean
    A move, or a change of owner: nobody leaves a tank, and who owns it stays.

Example
    {"kind": "standing_change", "occurred": "2025-04-02", "payload": {"animal": "MS-2024-0071",
    "standing": "collection"}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import LIVE, Act, Shift, Step
from ledger.kinds._fields import Standing
from ledger.kinds._subject import Part, away, fill_from, ident, in_house
from ledger.kinds.base import Look

NAME = "standing_change"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(Part):
    """`standing` is the new one. Of a lot, without `how_many` all of it changes."""

    standing: Standing

    LATER: ClassVar[dict[str, str]] = {}


def fill(p: Payload, look: Look) -> Payload:
    """Of part of a lot: where they stand, if in one place."""
    return fill_from(p, look, in_house, away)


def acts(p: Payload) -> tuple[Act, ...]:
    """The standing is set; place, holder and owner stay."""
    amount, at, owner = p.taken()
    one, whole = p.animal is not None, p.animal is None and amount is None
    op = Shift(amount, LIVE, at, owner, (("standing", p.standing),))
    subject, axes = ident(p.subject()), "g" if one or whole else ""
    return (Act(subject, Step.CHANGE, op, "standing_changed", individual=one, axes=axes, whole=whole),)
