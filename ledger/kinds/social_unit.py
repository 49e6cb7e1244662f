"""Animals of an enclosure that live as one: a pair with its non-breeders, a harem, a pod.

What happened
    The house began to tell such animals apart from others, and gave them a name together.

When it counts
    From this day it can be named.

What it changes
    No figure. A unit is no lot: its animals keep their own numbers, and come and go without it.

What it does not mean
    Who belongs to it, or how they rank: members are found by association, their order by a hierarchy.

Example
    {"kind": "social_unit", "occurred": "2024-03-01", "payload": {"unit": "T3-A", "sort": "pair_with_non_breeders",
    "taxa": ["Amphiprion ocellaris"], "enclosure": "T3"}}
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ledger.acts import Act
from ledger.kinds._fields import refuse
from ledger.kinds.base import Animal, Carried, Enclosure, Lot, NewUnit, Taxon, Text, Word

NAME = "social_unit"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("unit",)


class Payload(Carried):
    """`taxa`: one or several; `host` (an animal) or `host_lot`: on or with which they live, as an anemone."""

    unit: NewUnit
    name: Word | None = None
    sort: Literal["pair_with_non_breeders", "harem", "many_male_group", "pod", "colony", "other"]
    taxa: list[Taxon] = Field(min_length=1)
    enclosure: Enclosure | None = None
    host: Animal | None = None
    host_lot: Lot | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _one_taxon(cls, value: Any) -> Any:
        if isinstance(value, dict) and "taxon" in value and "taxa" not in value:
            value = {("taxa" if key == "taxon" else key): one for key, one in value.items()}
        if isinstance(value, dict) and isinstance(value.get("taxa"), str):
            value = {**value, "taxa": [value["taxa"]]}
        return value

    @model_validator(mode="after")
    def _one_host(self) -> Self:
        if self.host is not None and self.host_lot is not None:
            refuse("host", "two hosts", "one of host and host_lot", "Name the one they live on.")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
