"""Remains are of the dead.

Finds remains of an animal that has not died by that day, and of more bodies of a lot than have died of it. A death of
uncertain date is no reproach: it is enough that it can have happened by then. Asked when remains are entered or
corrected; a death that is struck out later leaves them standing, as all that moves nobody.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.checks.base import Batch, subject_of
from ledger.findings import Finding
from ledger.kinds.base import HowMany

CODES = ("not-dead",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one an entry."""
    index = batch.index
    for draft in batch.drafts:
        event = draft.standing
        if event.kind != "remains":
            continue
        subject, how_many = subject_of(event.payload), getattr(event.payload, "how_many", None)
        bodies = how_many.total() if isinstance(how_many, HowMany) else 1
        dead = sum(
            line.delta
            for line in index.tale(subject).lines
            if line.cell.place == "dead" and line.could_from <= event.last
        )
        if dead < bodies:
            name = index.name(subject)
            found = f"{name} has not died by then" if not dead else f"{bodies} bodies of {name}, of which {dead} died"
            yield draft.at.finding(
                "not-dead",
                found,
                "the remains of what has died",
                "Enter the death first; or mend the number or the date.",
                "how_many" if dead else "",
            )
