"""An animal or a lot turned out to be of another taxon.

What happened
    Somebody looked again and determined it anew.

When it counts
    On this day, on the day it is said to hold since, or since birth: then the arrival itself is restated.

What it changes
    The taxon under which it is counted; *re-classed* in a roll-forward: out of one taxon, into the other.

What it does not mean
    A new name for the same taxon: that moves nobody. Nor a mixed lot: it is one taxon for all of it.

Example
    {"kind": "redetermination", "occurred": "2024-06-18", "payload": {"animal": "MS-2024-0117",
    "taxon": "Hippocampus reidi", "evidence": "gene", "holds_since": "birth"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal

from pydantic import model_validator

from ledger.acts import LIVE, Act, Shift, Step
from ledger.kinds._fields import Since, Sureness
from ledger.kinds._finding import evidence, since_of
from ledger.kinds._subject import OneSubject, ident
from ledger.kinds.base import Taxon, Text

NAME = "redetermination"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")


class Payload(OneSubject):
    """People may also write `basis` for `evidence`."""

    taxon: Taxon
    evidence: (
        Literal["morphology", "colour", "behaviour", "gene", "provenance", "post_mortem", "specialist", "other"] | None
    ) = None
    sure: Sureness | None = None
    holds_since: Since | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {
        "how_many": "Part of a lot comes with a later version; split it first, then redetermine the new lot.",
        "into": "Part of a lot comes with a later version; split it first, then redetermine the new lot.",
        "is": "Say taxon=….",
    }

    @model_validator(mode="before")
    @classmethod
    def _evidence(cls, value: Any) -> Any:
        return evidence(value)


def acts(p: Payload) -> tuple[Act, ...]:
    """The taxon is set, of all of it."""
    one = p.animal is not None
    op = Shift(None, LIVE, "", "", (("taxon", ident(p.taxon)),))
    return (
        Act(
            ident(p.subject()),
            Step.CHANGE,
            op,
            "redetermined",
            individual=one,
            axes="t",
            whole=not one,
            since=since_of(p.holds_since),
            finding=True,
        ),
    )
