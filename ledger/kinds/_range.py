"""A number that is not exact: one between a least and a most, posted only as what a person takes it as."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from ledger.kinds._fields import refuse
from ledger.kinds.base import Carried, Counts, HowMany

Bound = Annotated[int, Field(ge=0, le=10**9, strict=True)]


class Range(Carried):
    """`how_many` exactly; or `at_least` and `at_most`, and what of it is `taken_as`."""

    how_many: Counts | None = None
    at_least: Bound | None = None
    at_most: Bound | None = None
    taken_as: Counts | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        ranged = self.at_least is not None or self.at_most is not None
        if ranged and self.how_many is not None:
            refuse("how_many", "a number and a range", "one of them", "Say what the range is taken_as, not how_many.")
        if ranged and (self.at_least is None or self.at_most is None):
            missing = "at_least" if self.at_least is None else "at_most"
            refuse(missing, "a range with one end", "both ends", f"Say {missing}=… too.")
        if self.taken_as is not None and not ranged:
            refuse("taken_as", "taken_as without a range", "at_least and at_most", "An exact number is how_many=….")
        if self.at_least is not None and self.at_most is not None:
            if self.at_least > self.at_most:
                refuse("at_least", f"{self.at_least} to {self.at_most}", "the smaller number first", "Swap the two.")
            taken = self.taken_as.total() if self.taken_as is not None else self.at_least
            if not self.at_least <= taken <= self.at_most:
                found = f"{taken}, of {self.at_least} to {self.at_most}"
                refuse("taken_as", found, "a number within the range", "Mend one of them.")
        return self

    def number(self) -> HowMany | None:
        """What is posted; None where nothing is."""
        return self.how_many if self.how_many is not None else self.taken_as

    def likely(self) -> tuple[int, ...]:
        """Least and most, where the number was taken as one between them."""
        if self.taken_as is None or self.at_least is None or self.at_most is None:
            return ()
        return (self.at_least, self.at_most)
