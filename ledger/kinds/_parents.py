"""Possible parents: pairs of dam and sire, each with its weight as a fraction."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from ledger.kinds._fields import refuse
from ledger.kinds.base import Carried, Subject


def _fraction(value: Any) -> Any:
    """`1/2`, `0.5` and 1 as a fraction in lowest terms; what is none is left for the pattern to refuse."""
    if isinstance(value, bool) or not isinstance(value, int | str):
        return value
    try:
        return str(Fraction(str(value).strip()))
    except (ValueError, ZeroDivisionError):
        return value


# part of a whole, as text: no floats in stored bytes
Weight = Annotated[str, BeforeValidator(_fraction), StringConstraints(pattern=r"^\d{1,9}(/\d{1,9})?$")]


class ParentPair(Carried):
    """A dam and a sire that may be the parents, or one of them; of a lot: one of that lot, not known which.

    `weight`: by `draw`, the probability that these are the parents, or the part of the young that is theirs.
    """

    dam: Subject | None = None
    sire: Subject | None = None
    weight: Weight

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.dam is None and self.sire is None:
            refuse("parents", "a pair of nobody", "a dam, a sire or both", "What is not known is the rest to 1.")
        if not 0 < Fraction(self.weight) <= 1:
            refuse("parents", f"a weight of {self.weight}", "a part above 0, 1 at most", "Write it as in 1/2.")
        return self


class Parents(Carried):
    """Sure parents as `dam` and `sire`; where they are not sure `parents`, whose weights sum to 1 at most.

    What is missing to 1 is not known. `draw`: `one` pair is parent of all young of the clutch, `each` young has its
    own, or the eggs of each dam were counted (`counted_by_dam`).
    """

    dam: Subject | None = None
    sire: Subject | None = None
    parents: Annotated[list[ParentPair], Field(min_length=1, max_length=99)] | None = None
    draw: Literal["one", "each", "counted_by_dam"] | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.parents is None:
            if self.draw is not None:
                refuse(
                    "draw", "a draw without pairs of parents", "pairs with weights", "Say parents=…, or leave it out."
                )
            return self
        if self.dam is not None or self.sire is not None:
            way = "Name a sure dam in each pair, or leave parents out."
            refuse("parents", "dam or sire, and pairs of parents", "one of the two", way)
        total = sum((Fraction(pair.weight) for pair in self.parents), Fraction())
        if total > 1:
            refuse("parents", f"weights that sum to {total}", "1 at most", "Mend the weights; the rest is not known.")
        return self
