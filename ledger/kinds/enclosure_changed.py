"""Something about an enclosure is different from this day on.

What happened
    It got another code, name, purpose or section, or became part of another enclosure.

When it counts
    From this day. A census of an earlier day shows the enclosure as it was then.

What it changes
    No figure; only the headings under which a census shows the animals in it.

What it does not mean
    That the earlier entry was wrong. A mistake is put right by a correction of that entry.

Example
    {"kind": "enclosure_changed", "occurred": "2024-03-01", "payload": {"enclosure": "T3",
    "purpose": "quarantine"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds.base import Carried, Code, Enclosure, Word

NAME = "enclosure_changed"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("enclosure",)


class Payload(Carried):
    """Only what changes is given."""

    enclosure: Enclosure
    code: Code | None = None
    name: Word | None = None
    parent: Enclosure | None = None
    section: Word | None = None
    purpose: Literal["exhibit", "reserve", "nursery", "quarantine", "holding", "off_site"] | None = None
    setting: Literal["indoors", "outdoors"] | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not any((self.code, self.name, self.parent, self.section, self.purpose, self.setting)):
            refuse(
                "enclosure", "no change", "at least one thing that is new", "Say what changes, as in purpose=reserve."
            )
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
