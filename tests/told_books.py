"""A book told as a case tells it, and asked by a report: the small world, what is given, and a reading copy."""

from __future__ import annotations

from datetime import date
from typing import Any

from case_runner import Run

from ledger.read import AsOf, Copy, Names


class Told:
    """The small world of the cases with some entries more. `@` in a value names the event of a label."""

    def __init__(self, *given: dict[str, Any]) -> None:
        self.run = Run()
        for one in given:
            self.tell(one)

    def tell(self, one: dict[str, Any]) -> None:
        self.run.give(one)

    def seq(self, label: str) -> int:
        return self.run.labels[label]

    def asked(self, on: str, known: int = 0, **how: bool) -> tuple[Copy, Names, AsOf]:
        """A reading copy, names and the two dates; known now where not said."""
        copy = Copy(self.run.book.store)
        asof = AsOf(date.fromisoformat(on), known or copy.head.position)
        return copy, Names(copy, asof, **how), asof


def entry(kind: str, occurred: str, **payload: Any) -> dict[str, Any]:
    return {"kind": kind, "occurred": occurred, **payload}


def lot(number: str, how_many: Any, occurred: str = "2023-06-01", **more: Any) -> dict[str, Any]:
    facts = {"lot": number, "how_many": how_many, "taxon": "Chromis viridis", "enclosure": "T3"}
    return entry("opening", occurred, **{**facts, **more})


def animal(number: str, sex: str = "f", occurred: str = "2023-06-01", **more: Any) -> dict[str, Any]:
    return entry(
        "opening", occurred, **{"animal": number, "sex": sex, "taxon": "Phoca vitulina", "enclosure": "T3", **more}
    )
