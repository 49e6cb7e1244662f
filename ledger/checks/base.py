"""What a check is given, and the few questions that several checks ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from ledger.acts import Cell
from ledger.kinds.base import Carried, Ref
from ledger.refs import references

if TYPE_CHECKING:
    from ledger.draft import Draft
    from ledger.index import Index, Standing
    from ledger.posting import Posting

FAR: Final = 1 << 40  # a day that never comes
REGISTER: Final = (
    *("book", "person", "house", "party", "party_changed", "enclosure", "enclosure_changed", "enclosure_closed"),
    *("taxon", "taxon_renamed", "taxa_united", "permit", "permit_changed", "agreement", "agreement_changed"),
    *("social_unit", "outside_animal"),
)
CHANGERS: Final = ("male_first", "female_first", "some_born_male", "both_ways", "male_first_then_both")


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch applied to the index: its drafts, what it would post, and the position before it.

    `check` (is what stands plausible) builds one from standing events, with no postings.
    """

    index: Index
    drafts: list[Draft]
    postings: list[Posting]
    start: int


def ident(ref: Any) -> str:
    """The id of a stored reference; "" where there is none, or where a word of a place stands."""
    return (ref.id or "") if isinstance(ref, Ref) else ""


def refs(payload: Carried) -> Iterator[tuple[str, str]]:
    """(field, id) of everything a payload names, however deep."""
    for field, _, ref in references(payload):
        if ref.id:
            yield field.name, ref.id


def subject_of(payload: Carried) -> str:
    """The animal or lot an event is about: of several fields the first of animal, lot, into."""
    return next((i for f in ("animal", "lot", "into") if (i := ident(vars(payload).get(f)))), "")


def say(index: Index, event: Standing) -> str:
    """A standing event in words: `#12, the count of MS-G-3 on 2025-03-15`."""
    about = event.subjects() or [subject_of(event.payload)]
    names = ", ".join(index.name(s) for s in about if s)
    return f"#{event.seq}, the {event.kind.replace('_', ' ')}{' of ' if names else ''}{names} on {event.edtf}"


def spells(index: Index, subject: str, test: Callable[[Cell], bool]) -> list[tuple[int, int]]:
    """Stretches in which the subject had animals in cells that pass the test: (first day, day it ended or FAR).

    The first day is the earliest it could be, the end the latest, so that an uncertain date is no reproach.
    """
    net: dict[int, int] = {}
    could: dict[int, int] = {}
    for line in index.tale(subject).lines:
        if test(line.cell):
            net[line.counts_on] = net.get(line.counts_on, 0) + line.delta
            if line.delta > 0:
                could[line.counts_on] = min(could.get(line.counts_on, line.could_from), line.could_from)
    out: list[tuple[int, int]] = []
    there = begun = 0
    for day in sorted(net):
        was, there = there, there + net[day]
        if there and not was:
            begun = could.get(day, day)
        elif was and not there:
            out.append((begun, day))
    return [*out, (begun, FAR)] if there else out


def taxon_of(index: Index, subject: str) -> str:
    """The taxon a subject is now thought to be, or was at its end; "" where it never arrived."""
    lines = index.tale(subject).lines
    return lines[-1].cell.taxon if lines else ""


def of_taxon(index: Index, taxon: str, field: str) -> Any:
    """What the register says about a taxon; None where it says nothing."""
    thing = index.things.get(taxon)
    return thing.fields.get(field) if thing is not None else None
