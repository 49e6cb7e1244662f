"""Split, merge, draw, join: animals pass from one number to another through the account `passed`.

The event states both sides, so that each subject's history can be told alone; the two must meet
(engine rule 11).
"""

from __future__ import annotations

from typing import TypeVar

from pydantic import Field

from ledger.acts import HELD, Act, Amount, Cell, Enter, Shift, Step
from ledger.kinds._fields import Standing
from ledger.kinds._subject import called, ident, in_house, the_one, the_place, with_
from ledger.kinds.base import CannotFill, Carried, Enclosure, House, Look, Party, Ref, Taxon, Text


class Passing(Carried):
    """Places and what the book fills in about the animals that pass."""

    from_: Enclosure | None = Field(default=None, alias="from")
    to: Enclosure | None = None
    taxon: Taxon | None = None
    holder: House | None = None
    owner: Party | None = None
    standing: Standing | None = None
    note: Text | None = None


Q = TypeVar("Q", bound=Passing)


def standing_there(p: Passing, source: Ref, look: Look) -> dict[Cell, int]:
    """The source's animals in the house, at `from` and of `owner` where these are said."""
    held = {c: n for c, n in look.cells(source).items() if in_house(c)}
    if p.from_ is not None:
        held = {c: n for c, n in held.items() if c.place == ident(p.from_)}
    if p.owner is not None:
        held = {c: n for c, n in held.items() if c.owner == ident(p.owner)}
    if not held:
        found = f"none of {called(source)} stands there on that day"
        raise CannotFill(
            "from", found, "animals that can pass", "Give the day and the place they were there.", "not-there"
        )
    return held


def fill_source(p: Q, source: Ref, look: Look) -> Q:
    """From, taxon, owner and standing of the animals that pass."""
    held = standing_there(p, source, look)
    name = called(source)
    place = the_one({c.place for c in held}, look, "from", f"{name} stands in", "the place they are taken from")
    held = {c: n for c, n in held.items() if c.place == place}
    owner = the_one({c.owner for c in held}, look, "owner", f"animals of {name} there are owned by", "whose they are")
    standing = the_one(
        {c.standing for c in held}, look, "standing", f"animals of {name} there stand as", "which of them"
    )
    taxon = p.taxon or look.ref(next(iter(held)).taxon)  # what is typed stands: the batch may bring it about
    return with_(p, from_=look.ref(place), taxon=taxon, owner=look.ref(owner), standing=p.standing or standing)


def fill_target(p: Q, target: Ref | None, look: Look) -> Q:
    """To: where it is said, else where the standing target is, else where they are; and the holder there."""
    to = p.to
    if to is None and target is not None:
        places = {c.place for c in look.cells(target) if in_house(c)}
        here = ident(p.from_)
        place = here if here in places else the_place(look, target, "to", in_house)
        to = look.ref(place) if place else None
    to = to or p.from_
    assert to is not None
    holder = look.house_of(to)
    if p.from_ is not None and ident(look.house_of(p.from_)) != ident(holder):
        found = f"{called(to)} belongs to {called(holder)}, and they stand in {called(p.from_)}"
        way_out = f"Enter a transfer to {called(holder)}, with its terms; or mend the enclosure."
        raise CannotFill("to", found, "an enclosure of the house that holds them", way_out, "another-house")
    return with_(p, to=to, holder=holder)


def passing_acts(
    p: Passing,
    source: Ref,
    target: Ref,
    amount: Amount,
    *,
    animal_goes: bool = False,
    opens: bool = False,
    one: bool = False,
) -> tuple[Act, ...]:
    """One act for each of the two subjects. `opens`: the target is a new number; `one`: it is an individual."""
    owner = ident(p.owner)
    away = (("place", "passed"), ("holder", ""))
    if animal_goes:
        out = Act(ident(source), Step.END, Shift(None, HELD, "", "", away), "passed_out", axes="*", needs=HELD)
    else:
        taken = Shift(amount, HELD, ident(p.from_), owner, away)
        out = Act(ident(source), Step.LEAVE, taken, "passed_out", individual=False, needs=HELD)
    place = (ident(p.to), ident(p.holder), owner, p.standing or "collection")
    enter = Enter(amount, ("passed", "", owner), ident(p.taxon), place)
    step, axes = (Step.OPEN, "*") if opens else (Step.ADD, "")
    return (out, Act(ident(target), step, enter, "passed_in", individual=one, axes=axes))
