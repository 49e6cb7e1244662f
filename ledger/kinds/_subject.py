"""Payloads about one animal or one lot, and what the book can fill in about where a lot's animals are taken from."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Self, TypeVar

from pydantic import Field, model_validator

from ledger.acts import Amount, Cell
from ledger.kinds._fields import Place, refuse
from ledger.kinds.base import Animal, CannotFill, Carried, Counts, HowMany, Look, Lot, Party, Ref, Text
from ledger.words import IN_TRANSIT, LETTER_OF

P = TypeVar("P", bound=Carried)


def ident(ref: Ref | None) -> str:
    """The id of a stored reference; empty where none is given."""
    return (ref.id or "") if ref is not None else ""


def called(ref: Ref | None) -> str:
    """What a reference is called in a sentence."""
    return (ref.as_ or ref.id or "it") if ref is not None else "it"


def place_of(place: Ref | str | None) -> str:
    """The place a stored `from` means, as cells write it; empty where none is given."""
    return place if isinstance(place, str) else ident(place)


def with_(payload: P, **values: object) -> P:
    """The payload with fields filled in; empty values are left out."""
    return payload.model_copy(update={k: v for k, v in values.items() if v not in (None, "")})


def in_house(cell: Cell) -> bool:
    """In an enclosure."""
    return cell.place[:2] == "e-"


def away(cell: Cell) -> bool:
    """With an outside party."""
    return cell.place[:2] == "o-"


def on_the_way(cell: Cell) -> bool:
    """Between two holders."""
    return cell.place == IN_TRANSIT


def lost(cell: Cell) -> bool:
    """Escaped or missing."""
    return cell.place in ("escaped", "missing")


def names(look: Look, ids: Iterable[str]) -> str:
    """Places or owners in a sentence."""
    return " and ".join(sorted(called(look.ref(i)) if i[1:2] == "-" else i for i in ids))


def the_one(values: set[str], look: Look, field: str, found: str, expected: str) -> str:
    """The only value there is, "" where there is none; several: a person must say which."""
    if len(values) > 1:
        said = names(look, values)
        raise CannotFill(field, f"{found} {said}", expected, f"Say {field}=… with one of {said}.")
    return next(iter(values), "")


def as_place(look: Look, place: str) -> Ref | str | None:
    """A place as a payload's `from` holds it."""
    return place if place[1:2] != "-" else look.ref(place)


def the_place(look: Look, subject: Ref, field: str, *tests: Callable[[Cell], bool]) -> str:
    """The one place where the subject's animals stand: in the first of the ways asked for that has any."""
    cells = look.unnumbered(subject) or set(look.cells(subject))
    for test in tests:
        places = {c.place for c in cells if test(c)}
        if places:
            found = f"{called(subject)} stands in"
            return the_one(places, look, field, found, "the place that is meant")
    return ""


class OneSubject(Carried):
    """Exactly one of `animal` and `lot`."""

    animal: Animal | None = None
    lot: Lot | None = None

    @model_validator(mode="after")
    def _exactly_one(self) -> Self:
        if (self.animal is None) == (self.lot is None):
            found = "neither an animal nor a lot" if self.animal is None else "both an animal and a lot"
            refuse("animal", found, "exactly one of them", "Name the animal or the lot this is about.")
        return self

    def subject(self) -> Ref:
        """The animal or the lot."""
        one = self.animal or self.lot
        assert one is not None
        return one


class Part(OneSubject):
    """An animal, or part of a lot: then how many, and from where (filled in if they stand in one place)."""

    how_many: Counts | None = None
    from_: Place | None = Field(default=None, alias="from")
    owned_by: Party | None = None
    note: Text | None = None

    @model_validator(mode="after")
    def _numbers(self) -> Self:
        check_numbers(self.animal, self.how_many)
        return self

    def amount(self) -> Amount | None:
        """How many of each sex, or untold; None for all of it."""
        return self.how_many.told() if self.how_many is not None else None

    def taken(self) -> tuple[Amount | None, str, str]:
        """Amount, place and owner, as a Shift takes them. An individual is taken whole, from where it is."""
        if self.lot is None:
            return None, "", ""
        return self.amount(), place_of(self.from_), ident(self.owned_by)


class Loss(Part):
    """Of a lot, how many is always said."""

    @model_validator(mode="after")
    def _how_many(self) -> Self:
        if self.lot is not None and self.how_many is None:
            refuse("how_many", "no number", "how many of the lot", "Say how_many=males.females.unknown, or a number.")
        return self


def check_numbers(animal: Ref | None, how_many: object) -> None:
    """`how_many` is for lots, and never nobody."""
    if how_many is None:
        return
    if animal is not None:
        way_out = "Leave how_many out, or name a lot. Several animals are as many entries, each with its number."
        refuse("how_many", "a number for one animal", "one animal, without a number", way_out, "not-one")
    if not how_many.total():  # type: ignore[attr-defined]
        refuse("how_many", "nobody", "at least one animal", "Say how many.", "no-number")


R = TypeVar("R", bound=Part)


def fill_from(payload: R, look: Look, *tests: Callable[[Cell], bool]) -> R:
    """A lot's `from`, where its animals stand in one place only."""
    if payload.lot is None or payload.from_ is not None or payload.how_many is None:
        return payload
    place = the_place(look, payload.lot, "from", *tests)
    return with_(payload, from_=as_place(look, place) if place else None)


def counts_of(cells: dict[Cell, int]) -> HowMany:
    """Animals of some cells, by sex."""
    total: dict[str, int] = {}
    for cell, n in cells.items():
        letter = LETTER_OF[cell.sex]
        total[letter] = total.get(letter, 0) + n
    return HowMany(**total)


def fill_all_there(payload: R, look: Look) -> R:
    """A place without a number means all of the lot that stand there: the number is stored."""
    if payload.lot is None or payload.from_ is None or payload.how_many is not None:
        return payload
    place = place_of(payload.from_)
    owner = ident(payload.owned_by)
    there = {c: n for c, n in look.cells(payload.lot).items() if c.place == place and owner in ("", c.owner)}
    if not there:
        there_said = called(payload.from_) if isinstance(payload.from_, Ref) else place
        found = f"none of {called(payload.lot)} stands in {there_said}"
        raise CannotFill("from", found, "a place where it stands on that day", "Check place and day.", "not-there")
    return with_(payload, how_many=counts_of(there))
