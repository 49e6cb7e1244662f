"""New animals were made from one without mating: fragments, buds, divisions, strobilation.

What happened
    A colony was cut, or budded, divided or shed young of itself; the parts enter the book, as animals, as a lot,
    or into a standing one. They are clones of their source.

When it counts
    On this day; of a range, on its last possible day.

What it changes
    Census and closing; column *propagated*. A source that does not remain ends there, in the same column.

What it does not mean
    A birth: a fragment has no age of its own and is in no figure of young. The death of part of a colony is a
    measurement; two colonies that grew together are a merge.

Example
    {"kind": "propagation", "occurred": "2024-06-03", "payload": {"lot": "MS-2024-0061", "how_many": 6,
    "made_from": "MS-2022-0014", "made_how": "fragment", "enclosure": "R2"}}
"""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import model_validator

from ledger.acts import HELD, Act, Shift, Step
from ledger.kinds._arrival import ArrivalInto, arrival_acts, fill_arrival
from ledger.kinds._fields import refuse
from ledger.kinds._subject import called, ident, names, with_
from ledger.kinds.base import CannotFill, Look, Ref, Subject

NAME = "propagation"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot", "into", "made_from")


class Payload(ArrivalInto):
    """`made_from` is their source (`source` is the envelope's word); `source_remains: false` where it was used up."""

    made_from: Subject | None = None
    made_how: Literal["fragment", "bud", "division", "strobilation"] | None = None
    source_remains: Literal[False] | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _sources(self) -> Self:
        if self.source_remains is False and self.made_from is None:
            refuse("made_from", "no source that could not remain", "the source", "Say made_from=….")
        if self.made_from is not None and self.made_from in self.targets():
            refuse(
                "made_from", "the source itself", "a number of their own", "Give the new ones a number of their own."
            )
        return self

    def needs_taxon(self) -> bool:
        """Of a named source it is filled in."""
        return super().needs_taxon() and self.made_from is None


def fill(p: Payload, look: Look) -> Payload:
    """Taxon, standing and owner as the source has them; holder by the enclosure."""
    if p.made_from is not None:
        p = _as_the_source(p, p.made_from, look)
    return fill_arrival(p, look)


def _as_the_source(p: Payload, source: Ref, look: Look) -> Payload:
    if p.source_remains is False and ident(source)[:2] != "a-":
        found = f"{called(source)}, a lot"
        way_out = "Leave source_remains out; what is gone of a lot is said by a count or a loss."
        raise CannotFill("source_remains", found, "one animal that was used up", way_out)
    cells = look.cells(source)
    if p.taxon is None and p.into is None:
        taxa = {c.taxon for c in cells}
        if len(taxa) != 1:
            found = f"{called(source)} does not stand there on that day"
            raise CannotFill("taxon", found, "what the new ones are", "Say taxon=….")
        p = with_(p, taxon=look.ref(taxa.pop()))
    holder = ident(look.house_of(p.enclosure)) if p.enclosure is not None else ""
    others = {c.owner for c in cells} - {holder}
    if p.owner is None and others:
        found = f"{called(source)} is owned by {names(look, others)}"
        raise CannotFill("owner", found, "who owns the new ones", "Say owner=…, as the agreement has it.")
    standings = {c.standing for c in cells}
    standing = standings.pop() if p.into is None and len(standings) == 1 else ""
    return with_(p, standing=p.standing or standing)


def acts(p: Payload) -> tuple[Act, ...]:
    """From *propagated* into the cell; a source that does not remain goes the other way."""
    made = arrival_acts(p, "propagated", "propagated")
    if p.source_remains is not False:
        return made
    gone = (("place", "propagated"), ("holder", ""), ("owner", ""))
    end = Act(ident(p.made_from), Step.END, Shift(None, HELD, "", "", gone), "propagated", axes="*", needs=HELD)
    return (end, *made)
