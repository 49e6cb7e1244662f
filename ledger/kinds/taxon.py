"""What an animal can be: a species, a subspecies, a genus where no more is known, or a hybrid.

What happened
    A taxon was entered, with what the house relies on about it.

When it counts
    From this day animals can be entered under it. Facts and listings carry their own day where it matters.

What it changes
    No figure. The sexual system decides which sex changes are warned of, the unit which figures may be added
    together, the listings where a permit is asked for.

What it does not mean
    An authority on names: the book keeps its own id, and a later renaming moves nobody. Whether a listing
    applies is for the authority to say.

Example
    {"kind": "taxon", "occurred": "2023-01-02", "payload": {"taxon": "Hippocampus kuda", "rank": "species",
    "common_name": "spotted seahorse", "class": "Actinopterygii", "sexual_system": "gonochoristic",
    "mates": "one", "facts": [{"fact": "brooding_days", "low": "20", "high": "28", "unit": "d",
    "source": "remembered, medium trust", "trust": "memory"}],
    "listings": [{"instrument": "CITES", "listing": "II", "source": "Appendices, read by the registrar"}]}}
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from ledger.acts import Act
from ledger.kinds._fields import Day, Decimal, refuse
from ledger.kinds.base import Carried, Code, NewTaxon, Sex, Taxon, Text, Word

NAME = "taxon"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("taxon",)

FactName = Annotated[str, StringConstraints(pattern="^[a-z][a-z0-9_]{1,39}$")]


class Fact(Carried):
    """A figure with its range, unit and source; `trust`: how the source is known; `since`: from when it is used."""

    fact: FactName
    low: Decimal
    high: Decimal
    unit: Code
    condition: Text | None = None
    source: Text
    trust: Literal["seen", "second_hand", "memory", "derived", "practice"]
    since: Day | None = None

    @model_validator(mode="after")
    def _range(self) -> Self:
        if float(self.low) > float(self.high):
            refuse("facts", f"{self.low} to {self.high}", "the lower value first", "Exchange low and high.")
        return self


class Listing(Carried):
    """A legal listing, dated and sourced."""

    instrument: Code
    listing: Code
    since: Day | None = None
    source: Text


class Payload(Carried):
    """`taxon` is the scientific name. `sex_at_birth` is the sex young enter with in taxa where all begin as one."""

    taxon: NewTaxon
    rank: Literal["species", "subspecies", "genus", "hybrid"]
    common_name: Word | None = None
    class_: Word | None = Field(default=None, alias="class")
    order: Word | None = None
    family: Word | None = None
    sexual_system: (
        Literal[
            "gonochoristic",
            "male_first",
            "female_first",
            "some_born_male",
            "both_ways",
            "male_first_then_both",
            "both_at_once",
        ]
        | None
    ) = None
    sex_at_birth: Sex | None = None
    counted_in: Literal["animals", "colonies", "not_counted"] = "animals"
    mates: Literal["one", "several"] | None = None
    facts: list[Fact] | None = None
    listings: list[Listing] | None = None
    hybrid_of: list[Taxon] | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {
        "enters_at": "The stage at which young enter the book comes with a later version.",
    }

    @model_validator(mode="after")
    def _hybrid(self) -> Self:
        if (self.rank == "hybrid") != (self.hybrid_of is not None):
            found = "a hybrid without its two taxa" if self.rank == "hybrid" else "two taxa for what is no hybrid"
            refuse("hybrid_of", found, "hybrid_of with rank hybrid, and only then", "Name both taxa in hybrid_of.")
        if self.hybrid_of is not None and len(self.hybrid_of) != 2:
            refuse("hybrid_of", f"{len(self.hybrid_of)} taxa", "two", "Name both taxa in hybrid_of.")
        return self


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
