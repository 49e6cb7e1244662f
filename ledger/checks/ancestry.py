"""Parents come before their young.

Finds a dam or sire that was certainly born after its young, and an animal that would be its own ancestor.
Asked when young with a named parent are entered or corrected, and when the arrival of a parent is corrected.
A birth that is not known is no reproach: an animal of unknown birth was born at some time before it came.
Ancestors are followed through numbered animals; a lot may have many parents, so nothing follows from it.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.checks.base import Batch, ident, say, subject_of
from ledger.dates import DateRefused, Day, parse
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing

CODES = ("parent-too-young", "own-ancestor")

Role = tuple[str, str]  # "dam" or "sire", and the id


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on young and on parents whose arrival is corrected."""
    for draft in batch.drafts:
        event = draft.standing
        for role, parent in parents(batch.index, event):
            yield from _too_young(batch.index, draft, event, role, parent)
            if draft.old is not None:
                yield from _own_ancestor(batch.index, draft, role, parent)
        if draft.old is None:
            continue
        subject = subject_of(event.payload)
        if subject[:2] == "a-" and batch.index.made_by.get(subject) == event.root:
            for young in batch.index.naming("young", subject):
                if young.seq != event.seq:
                    role = next(r for r, p in parents(batch.index, young) if p == subject)
                    yield from _too_young(batch.index, draft, young, role, subject)


def parents(index: Index, event: Standing) -> list[Role]:
    """The named parents of young that arrive by an event; where it names none, those of their one brood."""
    named = [(role, ident(getattr(event.payload, role, None))) for role in ("dam", "sire")]
    brood = getattr(event.payload, "brood", None)
    made = index.standing.get(index.made_by.get(ident(brood), 0)) if event.kind != "brood" else None
    if made is not None and not any(parent for _, parent in named):
        return parents(index, made)
    return [(role, parent) for role, parent in named if parent]


def _too_young(index: Index, draft: Draft, young: Standing, role: str, parent: str) -> Iterator[Finding]:
    made = index.standing.get(index.made_by.get(parent, 0))
    if made is None:
        return
    born, _ = days_of_birth(index, made)
    _, young_born = days_of_birth(index, young)
    if born > young_born:
        day = date.fromordinal
        about = "" if young.seq == draft.standing.seq else f"{say(index, young)}: "
        yield draft.at.finding(
            "parent-too-young",
            f"{about}the {role} {index.name(parent)} was born on {day(born)} at the earliest, "
            f"the young by {day(young_born)}",
            "a parent born before its young",
            f"Name another {role}, or mend one of the two dates.",
            role,
            made.seq if not about else young.seq,
        )


def _own_ancestor(index: Index, draft: Draft, role: str, parent: str) -> Iterator[Finding]:
    young = subject_of(draft.standing.payload)
    seen: set[str] = set()
    left = [parent] if young[:2] == "a-" else []
    while left:
        animal = left.pop()
        if animal == young:
            yield draft.at.finding(
                "own-ancestor",
                f"{index.name(young)} is itself among the ancestors of its {role} {index.name(parent)}",
                "parents that do not descend from their young",
                f"Name another {role}, or correct the parents named further back.",
                role,
            )
            return
        made = index.standing.get(index.made_by.get(animal, 0))
        if made is None or animal in seen or made.kind == "draw":
            continue
        seen.add(animal)
        left += [p for _, p in parents(index, made)]


def days_of_birth(index: Index, event: Standing) -> tuple[int, int]:
    """First and last possible day of birth of those that arrive by an event; 1 where nothing bounds it."""
    text = getattr(event.payload, "hatched_on", None) or getattr(event.payload, "born", None)
    if not text:
        return (event.first if event.kind in ("hatching", "birth") else 1), event.last
    house = index.things.get(ident(getattr(event.payload, "holder", None)))
    try:
        value = parse(text, hemisphere=house.fields["hemisphere"] if house else "north")
    except DateRefused:  # the model has read it before; a further reading of the standard is no reproach
        return 1, event.last
    first = date(*value.first).toordinal() if isinstance(value.first, Day) and value.first.year > 0 else 1
    last = date(*value.last).toordinal() if isinstance(value.last, Day) and value.last.year > 0 else event.last
    return min(first, event.last), min(last, event.last)
