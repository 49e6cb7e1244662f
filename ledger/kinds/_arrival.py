"""What all arrivals share: an animal or a lot that enters the book, or more animals into a standing lot."""

from __future__ import annotations

from typing import Any, Literal, Self, TypeVar

from pydantic import model_validator

from ledger.acts import Act, Amount, Enter, Step
from ledger.kinds._fields import Kept, Standing, refuse
from ledger.kinds._range import Range
from ledger.kinds._subject import called, check_numbers, ident, in_house, on_the_way, the_one, with_
from ledger.kinds.base import (
    Agreement,
    Animal,
    Brood,
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
from ledger.words import IN_TRANSIT


class Arrival(Carried):
    """An animal or a lot, new to the book. `holder`, `owner` and `standing` are filled in where not said.

    `kept`: how a new lot is kept count of. One that is not counted may come without a number: it is present.
    """

    animal: NewAnimal | None = None
    lot: NewLot | None = None
    taxon: Taxon | None = None
    sex: Sex | None = None
    how_many: Counts | None = None
    enclosure: Enclosure | None = None
    holder: House | None = None
    owner: Party | None = None
    standing: Standing | None = None
    kept: Kept | None = None
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
        self._kept()
        if self.enclosure is None and not self.underway():
            refuse("enclosure", "no enclosure", "where they stand", "Say enclosure=….")
        if self.animal is None and not self.numbered():
            way_out = "Say how_many=males.females.unknown, or a number where the sexes are not known."
            refuse("how_many", "no number", "how many animals arrive", way_out, "no-number")
        if self.taxon is None and self.needs_taxon():
            refuse("taxon", "no taxon", "what they are", "Say taxon=… with the scientific name.")
        return self

    def _kept(self) -> None:
        if self.kept is not None and self.lot is None:
            refuse("kept", "how a lot is kept count of, without a new lot", "a new lot", "Leave kept out.")

    def needs_taxon(self) -> bool:
        """Whether a person must say what they are."""
        return getattr(self, "into", None) is None

    def numbered(self) -> bool:
        """Whether it is said how many arrive, or why not."""
        return self.how_many is not None or self.kept == "not_counted"

    def underway(self) -> bool:
        """Whether they arrive between two holders, in no enclosure."""
        return False

    def amount(self) -> Amount:
        """One of its sex, or the numbers of the lot; a lot that is not counted is present as one."""
        if self.how_many is not None:
            return self.how_many.amount()
        return ((self.sex or "unknown", 1),)


class ArrivalInto(Arrival):
    """An arrival that may also join a standing lot."""

    into: Lot | None = None


NOT_SETTLED = "not_settled"


class Young(ArrivalInto, Range):
    """Young of named or unnamed parents. `counted: false`: the first count of the new lot fixes how many there were.

    `in_transit`: on the way from one holder to another, in no enclosure; they are the sender's, as their parent is.
    `brood`: the one they come from, or several. `owner: not_settled` stands as the holder, not settled.
    """

    brood: Brood | list[Brood] | None = None
    dam: Animal | None = None
    sire: Animal | None = None
    agreement: Agreement | None = None
    owner_settled: Literal[False] | None = None
    counted: Literal[False] | None = None
    in_transit: Literal[True] | None = None

    @model_validator(mode="before")
    @classmethod
    def _not_settled(cls, value: Any) -> Any:
        if isinstance(value, dict) and value.get("owner") in (NOT_SETTLED, {"as": NOT_SETTLED}):
            return {**{k: v for k, v in value.items() if k != "owner"}, "owner_settled": False}
        return value

    @model_validator(mode="after")
    def _numbers(self) -> Self:
        if self.animal is not None and (self.at_least is not None or self.counted is not None):
            refuse("animal", "a number for one animal", "one animal, without a number", "Name a lot.", "not-one")
        if self.counted is False and self.lot is None:
            way_out = "Give the young a lot of their own; what a standing lot gains, a count says (is=young_not_seen)."
            refuse("counted", "young not counted, into a standing lot", "a new lot", way_out)
        if self.counted is False and (self.how_many is not None or self.at_least is not None):
            refuse("counted", "a number of young not counted", "one of them", "Leave counted out, or the number.")
        if self.at_least is not None and self.taken_as is None:
            way_out = "Say taken_as=… with the number that is to stand, or counted=false until they are counted."
            refuse("taken_as", "a range alone", "what it is taken as", way_out)
        if self.in_transit and self.enclosure is not None:
            refuse("enclosure", "an enclosure on the way", "none: they are in transit", "Leave one of them out.")
        return self

    def numbered(self) -> bool:
        """Whether it is said how many arrive, or why not."""
        return super().numbered() or self.counted is False or self.at_least is not None

    def underway(self) -> bool:
        """Whether they are born between two holders."""
        return bool(self.in_transit)

    def amount(self) -> Amount:
        """One of its sex, or the numbers of the lot; none where they were not counted."""
        if self.counted is False:
            return ()
        number = self.number()
        return number.amount() if number is not None else super().amount()


A = TypeVar("A", bound=Arrival)


def fill_arrival(p: A, look: Look, standing: str = "collection") -> A:
    """Holder by the enclosure; owner the holder; standing as the kind says; of `into`, what the lot is."""
    holder = holder_of(p, look)
    into: Ref | None = getattr(p, "into", None)
    sex = "unknown" if p.animal is not None and p.sex is None else None
    p = with_(p, holder=holder, sex=sex)
    if into is not None:
        return _fill_into(p, look, into, holder)
    return with_(p, owner=p.owner or holder, standing=p.standing or standing)


def holder_of(p: Arrival, look: Look) -> Ref:
    """The house of the enclosure; of young born on the way, the sender of their parent."""
    if p.enclosure is not None:
        return look.house_of(p.enclosure)
    if p.holder is not None:
        return p.holder
    parents = [r for r in (getattr(p, "dam", None), getattr(p, "sire", None), getattr(p, "into", None)) if r]
    holders = {c.holder for r in parents for c in look.cells(r) if on_the_way(c)}
    if len(holders) != 1:
        found = "no parent that is on the way" if not holders else "parents of several senders"
        raise CannotFill("holder", found, "the house that sends them", "Say holder=….")
    return look.ref(holders.pop())


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
    standings = {c.standing for c in cells if (in_house(c) or on_the_way(c)) and c.owner == ident(owner)}
    standing = p.standing or (standings.pop() if len(standings) == 1 else "collection")
    return with_(p, taxon=taxon, owner=owner, standing=standing)


Y = TypeVar("Y", bound=Young)


def fill_young(p: Y, look: Look) -> Y:
    """An arrival of young. Where a parent is not wholly the house's, a person says who owns the young."""
    holder = holder_of(p, look)
    if p.owner_settled is False:
        if p.owner is not None and ident(p.owner) != ident(holder):
            found = f"{called(p.owner)} as owner, and that the owner is not settled"
            raise CannotFill("owner", found, "one of them", f"Say owner={NOT_SETTLED} alone, or leave it out.")
        return fill_arrival(with_(p, owner=holder), look)
    if p.owner is None:
        p = with_(p, owner=_owner_agreed(p, look))
    if p.owner is None:
        _ask_owner(p, look, holder)
    return fill_arrival(p, look)


def _owner_agreed(p: Young, look: Look) -> Ref | None:
    """The owner of young by the agreement they are entered under."""
    return look.fields(p.agreement).get("young_go_to") if p.agreement is not None else None


def _ask_owner(p: Young, look: Look, holder: Ref) -> None:
    """Refuse where a parent has another owner, with what the agreement proposes."""
    for parent in parents_of(p, look):
        others = look.last_owners(parent) - {ident(holder)}
        if not others:
            continue
        owner = " and ".join(sorted(called(look.ref(o)) for o in others))
        found = f"{called(parent)} {'is' if look.cells(parent) else 'was last'} owned by {owner}"
        way_out = f"Say owner={called(holder)} or owner={owner}, as the agreement has it; or owner={NOT_SETTLED}."
        for agreement in look.agreements(parent):
            proposed = look.fields(agreement).get("young_go_to")
            if proposed is not None:
                said = f"owner={called(proposed)}, as agreement {called(agreement)} has it"
                way_out = f"Say {said}; or another owner, or owner={NOT_SETTLED}."
                break
        raise CannotFill("owner", found, "who owns the young", way_out)


def parents_of(p: Young, look: Look) -> list[Ref]:
    """Dam and sire, and those of the broods they come from."""
    broods = p.brood if isinstance(p.brood, list) else [p.brood] if p.brood is not None else []
    known = [look.fields(brood) for brood in broods]
    pairs = [pair for fields in known for pair in fields.get("parents") or ()]
    named = [p.dam, p.sire, *(fields.get(role) for fields in known for role in ("dam", "sire"))]
    named += [ref for pair in pairs for ref in (pair.dam, pair.sire)]
    return list({ident(ref): ref for ref in named if ref is not None}.values())


def arrival_acts(p: Arrival, account: str, reason: str) -> tuple[Act, ...]:
    """Out of an account into a cell: the first arrival of a subject, or more animals into a standing lot."""
    into: Ref | None = getattr(p, "into", None)
    place = IN_TRANSIT if p.underway() else ident(p.enclosure)
    target = (place, ident(p.holder), ident(p.owner), p.standing or "collection")
    likely = p.likely() if isinstance(p, Young) else ()
    op = Enter(p.amount(), (account, "", ""), ident(p.taxon), target)
    if into is not None:
        return (Act(ident(into), Step.ADD, op, reason, individual=False, likely=likely),)
    subject = ident(p.animal or p.lot)
    act = Act(subject, Step.OPEN, op, reason, individual=p.animal is not None, axes="*", likely=likely)
    return (act._replace(uncounted=not op.amount),)
