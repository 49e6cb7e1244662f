"""The table of a transfer: terms by direction give holder, owner and standing after, and the title needed.

| terms | out to a party (owner, title needed) | between members | in from a party |
|---|---|---|---|
| sale, donation, exchange | to the receiver; giver's title; gone | to the receiver; giver's title | to the receiver |
| loan, breeding loan, held for another | owner stays; giver's title; followed | the same | owner the giver |
| their returns, return to owner | an outside party's title; gone | owner stays; not the giver's | not the giver's |
| delivery after title passed | receiver's title; gone | receiver's title | receiver's title |

*Held for another* sets that standing on what comes in or passes between members; its return sets *collection*.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, Self, TypeVar

from pydantic import Field, model_validator

from ledger.acts import AWAY, HELD, WHOLE_LOT_LEAVES, Act, Amount, Back, Cell, Enter, Shift, Step
from ledger.kinds._fields import Place, Standing, refuse
from ledger.kinds._subject import (
    as_place,
    away,
    called,
    check_numbers,
    ident,
    in_house,
    names,
    on_the_way,
    place_of,
    the_one,
    with_,
)
from ledger.kinds.base import (
    CannotFill,
    Carried,
    Code,
    Counts,
    Enclosure,
    House,
    Look,
    MaybeNewAnimal,
    MaybeNewLot,
    Party,
    Ref,
    Sex,
    Taxon,
)

PASS_TITLE = ("sale", "donation", "exchange")
LEND = ("loan", "breeding_loan", "held_for_another")
RETURN = ("loan_return", "breeding_loan_return", "held_for_another_return", "return_to_owner")
DELIVER = "delivery_after_title_passed"


Terms = Literal[
    "sale",
    "donation",
    "exchange",
    "loan",
    "loan_return",
    "breeding_loan",
    "breeding_loan_return",
    "held_for_another",
    "held_for_another_return",
    "delivery_after_title_passed",
    "return_to_owner",
]


class Passage(Carried):
    """What the terms are about: who, from whom, to whom, and what follows from it."""

    animal: MaybeNewAnimal | None = None
    lot: MaybeNewLot | None = None
    from_: Party = Field(alias="from")
    to: Party
    terms: Terms
    how_many: Counts | None = None
    leaving: Place | None = None
    owned_by: Party | None = None
    enclosure: Enclosure | None = None
    taxon: Taxon | None = None
    sex: Sex | None = None
    holder: House | None = None
    owner: Party | None = None
    standing: Standing | None = None
    addition: Literal[True] | None = None
    new_number: Code | None = None
    on_the_way: Literal[True] | None = None  # filled in: it was in transit already, being born there

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if (self.animal is None) == (self.lot is None):
            found = "neither an animal nor a lot" if self.animal is None else "both an animal and a lot"
            refuse("animal", found, "exactly one of them", "Name the animal or the lot that passes.")
        check_numbers(self.animal, self.how_many)
        if self.lot is not None and self.sex is not None:
            refuse("sex", "a sex for a lot", "how many of each sex", "Say how_many=males.females.unknown.")
        if self.lot is None and (self.leaving or self.owned_by):
            refuse("leaving", "a place one animal leaves", "no place: it leaves where it is", "Leave it out.")
        return self

    def subject(self) -> Ref:
        """The animal or the lot."""
        one = self.animal or self.lot
        assert one is not None
        return one


T = TypeVar("T", bound=Passage)


def member(ref: Ref) -> bool:
    """A house of this book."""
    return ident(ref)[:2] == "h-"


# --- filling in -----------------------------------------------------------------------------------


def fill_transfer(p: T, look: Look) -> T:
    """All that follows from the terms, the direction and where the subject stands."""
    if ident(p.from_) == ident(p.to):
        raise CannotFill("to", f"from and to are both {called(p.to)}", "two parties", "Say who gives and who receives.")
    new = look.is_new(p.subject())
    if not member(p.to):
        p = _outwards(p, new=new)
    elif p.enclosure is None:
        expected = f"the enclosure at {called(p.to)} they come into"
        raise CannotFill("enclosure", "no enclosure", expected, "Say enclosure=….")
    else:
        p = with_(p, holder=look.house_of(p.enclosure))
    if new:
        return _fill_new(p)
    if member(p.from_):
        return _fill_going(p, look)
    return _fill_coming(p, look) if member(p.to) else _fill_part(p, look, away)


def _outwards(p: T, *, new: bool) -> T:
    if p.enclosure is not None or p.new_number is not None:
        field = "enclosure" if p.enclosure is not None else "new_number"
        found = f"{field} for {called(p.to)}, which is no house of this book"
        raise CannotFill(field, found, f"no {field}", "Leave it out; their number goes into number_there.")
    if new:
        found = f"{called(p.subject())} is not in the book"
        raise CannotFill("animal", found, "what is held or owned here", "Check the number.", "unknown-name")
    if not member(p.from_) and p.terms in PASS_TITLE:
        found = f"{p.terms} between two parties outside the book"
        raise CannotFill("terms", found, "terms that leave the owner", "Say who owns it now by a title_change.")
    _no_owner(p)
    return with_(p, owner=p.owner or (p.to if p.terms in PASS_TITLE else None))


def _fill_new(p: T) -> T:
    if member(p.from_):
        found = f"{called(p.subject())} is not in the book"
        raise CannotFill("animal", found, f"what {called(p.from_)} holds", "Check the number.", "unknown-name")
    if p.taxon is None:
        raise CannotFill("taxon", f"{called(p.subject())} is new to the book", "what it is", "Say taxon=….")
    if p.lot is not None and p.how_many is None and getattr(p, "kept", None) != "not_counted":
        found = f"{called(p.lot)} is new to the book"
        raise CannotFill("how_many", found, "how many of each sex", "Say how_many=males.females.unknown.")
    sex = "unknown" if p.animal is not None and p.sex is None else None
    return with_(p, sex=sex, owner=p.owner or _owner_after(p), standing=p.standing or _standing_after(p))


def _owner_after(p: Passage) -> Ref:
    return p.from_ if p.terms in LEND else p.to


def _standing_after(p: Passage) -> str:
    return "held_for_another" if p.terms == "held_for_another" else "collection"


def _fill_coming(p: T, look: Look) -> T:
    elsewhere = {c.place for c in look.cells(p.subject()) if away(c)}
    there = ident(p.from_) in elsewhere
    back = p.terms in RETURN or (p.terms == DELIVER and (p.animal is not None or there))
    _known(p, addition=p.lot is not None and not back)
    if back:
        _no_owner(p)
        if elsewhere and not there:
            said = names(look, elsewhere)
            found = f"{called(p.subject())} is with {said} on that day"
            raise CannotFill("from", found, "the party it is with", f"Say from={said}, or enter how it went on.")
        return p
    p = with_(p, owner=p.owner or _owner_after(p), standing=p.standing or _standing_after(p))
    if p.lot is None:
        return p
    if p.how_many is None:
        raise CannotFill("how_many", "no number", f"how many come to {called(p.lot)}", "Say how_many=….")
    taxa = {c.taxon for c in look.cells(p.lot)}
    if not taxa and p.taxon is None:
        raise CannotFill("taxon", f"{called(p.lot)} has no animals on that day", "what comes", "Say taxon=….")
    return with_(p, addition=True, taxon=p.taxon or look.ref(next(iter(taxa))))


def _no_owner(p: Passage) -> None:
    """Where the terms leave the owner, none is said."""
    if p.owner is not None and p.terms not in PASS_TITLE:
        found = f"an owner on the terms {p.terms}"
        raise CannotFill("owner", found, "no owner: the terms leave it", "Leave it out, or enter a title_change.")


def _known(p: Passage, *, addition: bool = False) -> None:
    """What the book knows of a standing subject is not said again."""
    for field in ("sex",) if addition else ("taxon", "sex"):
        if getattr(p, field) is not None:
            found = f"{called(p.subject())} stands in the book with its {field}"
            way_out = f"Leave {field} out; what was found out later is a sexing or a redetermination."
            raise CannotFill(field, found, f"no {field}", way_out)


def _fill_going(p: T, look: Look) -> T:
    _known(p)
    _no_owner(p)
    cells = look.cells(p.subject())
    held = {c: n for c, n in cells.items() if in_house(c)}
    if cells and not held and any(on_the_way(c) and c.holder == ident(p.from_) for c in cells):
        p = with_(p, on_the_way=True)
    mine = {c: n for c, n in held.items() if c.holder == ident(p.from_)}
    if held and not mine:
        holders = " and ".join(sorted({called(look.ref(c.holder)) for c in held}))
        found = f"{called(p.subject())} is held by {holders} on that day"
        raise CannotFill("from", found, "the house that holds it", f"Say from={holders}.")
    if p.how_many is None and len(mine) < len(held):
        found = f"part of {called(p.subject())} stands with another house"
        raise CannotFill("how_many", found, "how many pass, and from where", "Say how_many=… and leaving=….")
    if member(p.to):
        p = with_(p, owner=p.owner or (p.to if p.terms in PASS_TITLE else None))
        p = with_(p, standing=p.standing or _standing_between(p))
    return _fill_part(p, look, lambda c: in_house(c) and c.holder == ident(p.from_))


def _standing_between(p: Passage) -> str:
    changes = {"held_for_another": "held_for_another", "held_for_another_return": "collection"}
    return changes.get(p.terms, "")


def _fill_part(p: T, look: Look, test: Callable[[Cell], bool]) -> T:
    """Where part of a lot leaves, and whose animals, if several own animals there."""
    if p.lot is None or (p.how_many is None and p.leaving is None):
        return p
    cells: dict[Cell, int] = {c: n for c, n in look.cells(p.lot).items() if test(c)}
    if not member(p.from_):
        cells = {c: n for c, n in cells.items() if c.place == ident(p.from_)}
    name = called(p.lot)
    if p.leaving is None:
        place = the_one({c.place for c in cells}, look, "leaving", f"{name} stands in", "the place they leave")
        p = with_(p, leaving=as_place(look, place) if place else None)
    owners = {c.owner for c in cells if c.place == place_of(p.leaving)}
    if p.owned_by is None and len(owners) > 1:
        needs = ident(p.from_) if p.terms in (*PASS_TITLE, *LEND) else ident(p.to)
        if needs not in owners:
            the_one(owners, look, "owned_by", f"animals of {name} there are owned by", "whose animals pass")
        p = with_(p, owned_by=look.ref(needs))
    if p.how_many is None:
        raise CannotFill("how_many", "a place without a number", f"how many of {name} pass", "Say how_many=….")
    return p


# --- acts -----------------------------------------------------------------------------------------


def _amount(p: Passage) -> Amount | None:
    """Of what is taken from where it stands: sexes told, or not."""
    return p.how_many.told() if p.how_many is not None else None


def coming(p: Passage) -> Act:
    """From outside into a house: a first arrival, more into a standing lot, or a return."""
    one = p.animal is not None
    subject, giver, owner = ident(p.subject()), ident(p.from_), ident(p.owner)
    place, holder, standing = ident(p.enclosure), ident(p.holder), p.standing or ""
    if p.taxon is not None:
        amount: Amount = ((p.sex or "unknown", 1),) if p.how_many is None else p.how_many.amount()
        source = (giver, giver, owner if p.terms in LEND else giver)
        op = Enter(amount, source, ident(p.taxon), (place, holder, owner, standing or "collection"))
        if p.addition:
            return Act(subject, Step.ADD, op, "transfer_out", "transfer_in", individual=False)
        return Act(subject, Step.OPEN, op, "transfer_out", "transfer_in", individual=one, axes="*")
    returns = p.terms in (*RETURN, DELIVER)
    back = Back(_amount(p), AWAY, giver, place, holder, "" if returns else owner, "" if returns else standing)
    title: tuple[str, ...] = ("is", giver)  # of what is followed there a member has the title: it can only return
    if p.terms == DELIVER:
        title = ("is", ident(p.to))
    elif returns:
        title = ("is_not", giver)
    whole = not one and p.how_many is None
    return Act(
        subject,
        Step.COME,
        back,
        "transfer_out",
        "transfer_in",
        individual=one,
        axes="" if not one and not whole else "p" if returns else "*",
        needs=AWAY,
        whole=whole,
        rank=0 if whole else -1,  # a whole lot that is back can be moved or lose animals the same day
        title=title,
    )


def passing_on(p: Passage) -> Act:
    """From one outside party to another, while a member owns it."""
    one, whole = p.animal is not None, p.animal is None and p.how_many is None
    sets = (("place", ident(p.to)), ("holder", ident(p.to)))
    op = Shift(None if one else _amount(p), AWAY, ident(p.from_), ident(p.owned_by), sets)
    axes = "p" if one or whole else ""
    return Act(
        ident(p.subject()),
        Step.CHANGE,
        op,
        "transfer_out",
        "transfer_in",
        individual=one,
        axes=axes,
        needs=AWAY,
        whole=whole,
        title=("is_not", ident(p.from_)),
    )


def _title_to_go(p: Passage) -> tuple[str, ...]:
    if p.terms in (*PASS_TITLE, *LEND):
        return ("is", ident(p.from_))
    if p.terms == DELIVER:
        return ("is", ident(p.to))
    return ("is_not", ident(p.from_)) if member(p.to) else ("outside",)


def going(p: Passage) -> Act:
    """Out of a house: to an outside party, or to another member."""
    one, whole = p.animal is not None, p.animal is None and p.how_many is None
    stays = member(p.to)
    place = ident(p.enclosure) if stays else ident(p.to)
    sets = [("place", place), ("holder", ident(p.holder) if stays else ident(p.to))]
    if p.terms in PASS_TITLE:
        sets.append(("owner", ident(p.owner)))
    if stays and p.standing:
        sets.append(("standing", p.standing))
    leaving = place_of(p.leaving) if not one else ""
    op = Shift(None if one else _amount(p), HELD, leaving, ident(p.owned_by), tuple(sets))
    if stays:
        axes = "p" + ("o" if p.terms in PASS_TITLE else "") + ("g" if p.standing else "")
    else:
        axes = "p" if p.terms in LEND else "*"
    return Act(
        ident(p.subject()),
        Step.CHANGE if stays else Step.LEAVE,
        op,
        "transfer_out",
        "transfer_in",
        individual=one,
        axes=axes if one or whole else "",
        needs=HELD,
        gone=not stays and p.terms not in LEND and (one or whole),
        whole=whole,
        rank=WHOLE_LOT_LEAVES if whole and not stays else -1,
        title=_title_to_go(p),
        held_by=ident(p.from_),
    )
