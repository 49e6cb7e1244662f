"""A taxon has another scientific name from this day on.

What happened
    The house took over a new name: another genus, another spelling, a species where only the genus was known to bear
    a name.

When it counts
    From this day the taxon is called so; of an earlier day it is shown as it was called then, or as today, as asked.

What it changes
    No figure. The book keeps its own id for the taxon, so nobody moves. The former name still finds it.

What it does not mean
    That the animals are something else: that is a redetermination. That two taxa are one: that is taxa united.

Example
    {"kind": "taxon_renamed", "occurred": "2024-09-01", "payload": {"taxon": "Hippocampus kuda",
    "name": "Hippocampus novus", "evidence": "the list the house follows"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._finding import evidence
from ledger.kinds.base import Carried, Taxon, Text, Word

NAME = "taxon_renamed"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("taxon",)


class Payload(Carried):
    """`name` is the new scientific name; with it rank, class, order and family may be others."""

    taxon: Taxon
    name: Word
    rank: Literal["species", "subspecies", "genus", "hybrid"] | None = None
    class_: Word | None = Field(default=None, alias="class")
    order: Word | None = None
    family: Word | None = None
    common_name: Word | None = None
    evidence: Text | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _evidence(cls, value: Any) -> Any:
        return evidence(value)


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
