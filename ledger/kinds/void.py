"""An entry is struck out.

What happened
    Something recorded did not happen. The envelope names the entry (`supersedes`) and the reason.

When it counts
    From its recording the struck-out entry and the whole line of its corrections count nothing; as known before,
    they still do.

What it changes
    Every figure the entry had moved, dated where it had counted.

What it does not mean
    Deletion: the entry stays readable. It is final; what happened after all is entered anew.

Example
    {"kind": "void", "occurred": "2024-10-11", "supersedes": "#214", "reason": {"code": "mistake",
    "text": "wrong animal"}, "payload": {}}
"""

from __future__ import annotations

from typing import ClassVar

from ledger.acts import Act
from ledger.kinds.base import Carried, Text

NAME = "void"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ()


class Payload(Carried):
    """Nothing needed: what is struck out stands in the envelope."""

    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}


def acts(_p: Payload) -> tuple[Act, ...]:
    """None of its own: what it strikes out is no longer told."""
    return ()
