"""What findings share: what they rest on, how sure they are, since when they hold."""

from __future__ import annotations

from typing import Any

from pydantic import model_validator

from ledger.acts import Amount
from ledger.kinds._fields import Since, Sureness
from ledger.kinds._subject import Part


class Found(Part):
    """A finding. People may also write `basis` for `evidence`."""

    sure: Sureness | None = None

    @model_validator(mode="before")
    @classmethod
    def _evidence(cls, value: Any) -> Any:
        return evidence(value)

    def amount(self) -> Amount | None:
        """By the sex they had in the book; a number alone is of those unknown."""
        return self.how_many.amount() if self.how_many is not None else None


def evidence(value: Any) -> Any:
    """`basis` is the same word, as the trade says it."""
    if isinstance(value, dict) and "basis" in value and "evidence" not in value:
        return {("evidence" if key == "basis" else key): one for key, one in value.items()}
    return value


def since_of(holds_since: Since | None) -> str:
    """As an act carries it: `origin`, a day, or empty."""
    return "origin" if holds_since == "birth" else holds_since or ""
