"""What all arrivals share: an animal or a lot that enters the book, or more animals into a standing lot."""

from __future__ import annotations

from typing import Self, TypeVar

from pydantic import model_validator

from ledger.acts import Act, Amount, Enter, Step
from ledger.kinds._fields import Standing, refuse
from ledger.kinds._subject import called, check_numbers, ident, in_house, the_one, with_
from ledger.kinds.base import (
    Animal,
    CannotFill,
    Carried,
    Counts,
    Enclosure,
    House,
    Look,
    Lot,
    NewAnimal,
    NewLot,
    Party,
    Ref,
    Sex,
    Taxon,
    Text,
    Word,
)


class Arrival(Carried):
    """An animal or a lot, new to the book. `holder`, `owner` and `standing` are filled in where not said."""

    animal: NewAnimal | None = None
    lot: NewLot | None = None
    taxon: Taxon | None = None
    sex: Sex | None = None
    how_many: Counts | None = None
    enclosure: Enclosure
    holder: House | None = None
    owner: Party | None = None
    standing: Standing | None = None
    name: Word | None = None
    note: Text | None = None

    def targets(self) -> list[Ref]:
        """Those of animal, lot (and into, where the kind has it) that are given."""
        return [r for r in (self.animal, self.lot, getattr(self, "into", None)) if r is not None]

    @model_validator(mode="after")
    def _fits(self) -> Self:
        words = "animal, lot or into" if "into" in type(self).model_fields else "animal or lot"
        given = self.targets()
        if len(given) != 1:
            found = "nobody who arrives" if not given else "more than one of them"
            refuse("animal", found, f"exactly one of {words}", "Name the one animal or the one lot that arrives.")
        check_numbers(self.animal, self.how_many)
        if self.animal is None and self.sex is not None:
            refuse("sex", "a sex for a lot", "how many of each sex", "Say how_many=males.females.unknown.")
        if self.animal is None and self.how_many is None:
            way_out = "Say how_many=males.females.unknown, or a number where the sexes are not known."
            refuse("how_many", "no number", "how many animals arrive", way_out, "no-number")
        if self.taxon is None and getattr(self, "into", None) is None:
            refuse("taxon", "no taxon", "what they are", "Say taxon=… with the scientific name.")
        return self

    def amount(self) -> Amount:
        """One of its sex, or the numbers of the lot."""
        if self.how_many is not None:
            return self.how_many.amount()
        return ((self.sex or "unknown", 1),)


class ArrivalInto(Arrival):
    """An arrival that may also join a standing lot."""

    into: Lot | None = None


LATER_YOUNG = {
    "brood": "Broods come with a later version; name dam and sire.",
    "broods": "Broods come with a later version; name dam and sire.",
    "counted": "Births not counted come with a later version; enter the number when it is known.",
    "taken_as": "Ranges of a number come with a later version; enter the number that is to stand.",
    "agreement": "Agreements come with a later version; say owner=….",
    "how_many.n": "Totals without sexes come with a later version; write the number, which means sex unknown.",
}


class Young(ArrivalInto):
    """Young of named or unnamed parents."""

    dam: Animal | None = None
    sire: Animal | None = None


A = TypeVar("A", bound=Arrival)


def fill_arrival(p: A, look: Look, standing: str = "collection") -> A:
    """Holder by the enclosure; owner the holder; standing as the kind says; of `into`, what the lot is."""
    holder = look.house_of(p.enclosure)
    into: Ref | None = getattr(p, "into", None)
    sex = "unknown" if p.animal is not None and p.sex is None else None
    p = with_(p, holder=holder, sex=sex)
    if into is not None:
        return _fill_into(p, look, into, holder)
    return with_(p, owner=p.owner or holder, standing=p.standing or standing)


def _fill_into(p: A, look: Look, into: Ref, holder: Ref) -> A:
    cells = look.cells(into)
    taxon = p.taxon
    if taxon is None:
        found = next(iter(sorted({c.taxon for c in cells})), "")
        if not found:
            raise CannotFill("taxon", f"{called(into)} has no animals on that day", "what arrives", "Say taxon=….")
        taxon = look.ref(found)
    owner = p.owner
    if owner is None:
        owners = {c.owner for c in cells} or {ident(holder)}
        one = the_one(owners, look, "owner", f"animals of {called(into)} are owned by", "who owns the new ones")
        if one != ident(holder):
            found = f"{called(into)} is owned by {called(look.ref(one))}"
            raise CannotFill("owner", found, "who owns the new ones", "Say owner=….")
        owner = look.ref(one)
    standings = {c.standing for c in cells if in_house(c) and c.owner == ident(owner)}
    standing = p.standing or (standings.pop() if len(standings) == 1 else "collection")
    return with_(p, taxon=taxon, owner=owner, standing=standing)


Y = TypeVar("Y", bound=Young)


def fill_young(p: Y, look: Look) -> Y:
    """An arrival of young. Where a named parent is not wholly the house's, a person says who owns the young."""
    if p.owner is None:
        holder = look.house_of(p.enclosure)
        for parent in (p.dam, p.sire):
            others = {c.owner for c in look.cells(parent)} - {ident(holder)} if parent is not None else set()
            if others:
                owner = " and ".join(sorted(called(look.ref(o)) for o in others))
                found = f"{called(parent)} is owned by {owner}"
                way_out = f"Say owner={called(holder)} or owner={owner}, as the agreement has it."
                raise CannotFill("owner", found, "who owns the young", way_out)
    return fill_arrival(p, look)


def arrival_acts(p: Arrival, account: str, reason: str) -> tuple[Act, ...]:
    """Out of an account into a cell: the first arrival of a subject, or more animals into a standing lot."""
    into: Ref | None = getattr(p, "into", None)
    target = (ident(p.enclosure), ident(p.holder), ident(p.owner), p.standing or "collection")
    op = Enter(p.amount(), (account, "", ""), ident(p.taxon), target)
    if into is not None:
        return (Act(ident(into), Step.ADD, op, reason, individual=False),)
    subject = ident(p.animal or p.lot)
    return (Act(subject, Step.OPEN, op, reason, individual=p.animal is not None, axes="*"),)
