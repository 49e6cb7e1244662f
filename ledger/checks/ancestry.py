"""Parents come before their young.

Finds a dam or sire that was certainly born after its young, and an animal that would be its own ancestor.
Asked when young with a named parent are entered or corrected, when a brood or a finding about parents is, and when the
arrival of a parent is corrected. A finding about an animal's parents stands over what its arrival or its brood says.
A birth that is not known is no reproach: an animal of unknown birth was born at some time before it came.
Ancestors are followed through numbered animals, of pairs with weights through each; a lot may have many parents, so
nothing follows from it.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

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
        if draft.old is not None or event.kind == "parentage":
            for animal in _young_of(batch.index, event):
                yield from _own_ancestor(batch.index, draft, animal)
        if draft.old is None:
            continue
        subject = subject_of(event.payload)
        if subject[:2] == "a-" and batch.index.made_by.get(subject) == event.root:
            for young in batch.index.naming("young", subject):
                role = next((r for r, p in parents(batch.index, young) if p == subject), "")
                if young.seq != event.seq and role:
                    yield from _too_young(batch.index, draft, young, role, subject)


def parents(index: Index, event: Standing) -> list[Role]:
    """The parents an event names, of pairs each; where young that arrive name none, those of their one brood."""
    parts = [event.payload, *(getattr(event.payload, "parents", None) or ())]
    named = [(role, i) for part in parts for role in ("dam", "sire") if (i := ident(getattr(part, role, None)))]
    brood: Any = getattr(event.payload, "brood", None) if event.kind in ("hatching", "birth") else None
    made = index.standing.get(index.made_by.get(ident(brood), 0)) if not named else None
    return parents(index, made) if made is not None else list(dict.fromkeys(named))


def _ancestors(index: Index, animal: str) -> list[Role]:
    """The parents of an animal: by the latest finding about them, else by its arrival."""
    found = [e for e in index.naming("named", animal) if e.kind == "parentage" and subject_of(e.payload) == animal]
    if found:
        return parents(index, max(found, key=lambda e: (e.last, e.root)))
    made = index.standing.get(index.made_by.get(animal, 0))
    return parents(index, made) if made is not None and made.kind != "draw" else []


def _young_of(index: Index, event: Standing) -> list[str]:
    """Numbered animals whose parents an event says."""
    if event.kind == "brood":
        brood = ident(getattr(event.payload, "brood", None))
        young = [subject_of(e.payload) for e in index.naming("named", brood) if e.kind in ("hatching", "birth")]
    else:
        young = [subject_of(event.payload)]
    return [animal for animal in young if animal[:2] == "a-"]


def _too_young(index: Index, draft: Draft, young: Standing, role: str, parent: str) -> Iterator[Finding]:
    made = index.standing.get(index.made_by.get(parent, 0)) if parent[:2] == "a-" else None
    if made is None:
        return
    born, _ = days_of_birth(index, made)
    arrival = young
    if young.kind == "parentage":
        arrival = index.standing.get(index.made_by.get(subject_of(young.payload), 0), young)
    _, young_born = days_of_birth(index, arrival)
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


def _own_ancestor(index: Index, draft: Draft, young: str) -> Iterator[Finding]:
    for role, parent in _ancestors(index, young):
        seen: set[str] = set()
        left = [parent]
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
            if animal in seen or animal[:2] != "a-":
                continue
            seen.add(animal)
            left += [p for _, p in _ancestors(index, animal)]


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
