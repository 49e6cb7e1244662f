"""What every payload is made of: references, detached text, counts, and what a kind may ask of the book.

A payload has two forms and one model. *Typed*: as people write it, names as text. *Stored*: names are
`{"as": what was typed, "id": the book's own id}`, free text is `{"commit": hex}`. The book turns the
first into the second; acts are read from the second only.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple, NoReturn, Protocol, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from ledger.acts import UNTOLD, Cell
from ledger.spelling import Odd, odd_code, odd_name
from ledger.words import LETTER_OF, SEX_OF


class Ref(BaseModel):
    """A thing named: what was typed, and the id the book gave it. Persons are stored with the id only."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    as_: str | None = Field(default=None, alias="as")
    id: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _typed(cls, value: Any) -> Any:
        return {"as": value} if isinstance(value, str) else value


class Text(BaseModel):
    """Free text. Typed as it reads; stored as a commitment, the text itself kept apart and erasable."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    clear: str | None = None
    commit: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _typed(cls, value: Any) -> Any:
        return {"clear": value} if isinstance(value, str) else value


@dataclass(frozen=True)
class Names:
    """Marks a field that names things of these sorts; `new`: `never`, `may` or `must` be a new one.

    `outside`: a new one, or an outside animal that has not arrived. `plain`: one of the register, else plain text.
    """

    sorts: tuple[str, ...]
    new: str = "never"


def _sex(value: Any) -> Any:
    return SEX_OF.get(value, value) if isinstance(value, str) else value


def _counts(value: Any) -> Any:
    """`2.3.1`, `2.3.1 + 4 h`, `30` (sexes not told) or a map by letter."""
    if isinstance(value, int) and not isinstance(value, bool):
        return {"n": value}
    if isinstance(value, str):
        body, _, rest = value.partition("+")
        parts = body.strip().split(".")
        if not all(p.isascii() and p.isdigit() for p in parts) or len(parts) not in (1, 3):
            return _no_count(value)
        out = dict(zip("mfu", map(int, parts), strict=True)) if len(parts) == 3 else {"u": int(parts[0])}
        rest = rest.strip().removesuffix("h").strip()
        if rest.isascii() and rest.isdigit():
            out["h"] = int(rest)
        elif rest:
            return _no_count(value)
        return {"n": out["u"]} if list(out) == ["u"] and len(parts) == 1 else out
    if isinstance(value, dict):
        return {LETTER_OF.get(k, k): v for k, v in value.items()}
    return value if isinstance(value, HowMany) else _no_count(value)


def _no_count(value: Any) -> NoReturn:
    parts = {
        "found": f"{value!r:.60}",
        "expected": "a number, or males.females.unknown",
        "way_out": "Write 12, or 2.3.1.",
    }
    raise PydanticCustomError("bad-field", "{found}; expected {expected}. {way_out}", parts)


class HowMany(BaseModel):
    """A number of animals by sex: `{"m": 2, "f": 3, "u": 0, "h": 0}`; zeros may be left out.

    Or `{"n": 5}` alone: five whose sexes were not told. Of what arrives or passes they are of unknown sex; of
    what goes, moves or was counted they may be any (`told`).
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)
    m: int = Field(default=0, ge=0, le=10**9)
    f: int = Field(default=0, ge=0, le=10**9)
    u: int = Field(default=0, ge=0, le=10**9)
    h: int = Field(default=0, ge=0, le=10**9)
    n: int = Field(default=0, ge=0, le=10**9)

    @model_validator(mode="after")
    def _told_or_not(self) -> Self:
        if self.n and (self.m or self.f or self.u or self.h):
            raise ValueError("numbers by sex, or n alone where the sexes were not told")
        return self

    def amount(self) -> tuple[tuple[str, int], ...]:
        """((sex word, number), ...) of those above zero, in the order of `words.SEXES`; untold ones are unknown."""
        counted = {**{k: getattr(self, k) for k in SEX_OF}, "u": self.u + self.n}
        return tuple((word, n) for k, word in SEX_OF.items() if (n := counted[k]))

    def told(self) -> tuple[tuple[str, int], ...]:
        """The same, but that untold ones stand under `acts.UNTOLD`: they may be of any sex."""
        return ((UNTOLD, self.n),) if self.n else self.amount()

    def total(self) -> int:
        """All of them together."""
        return self.m + self.f + self.u + self.h + self.n


Counts = Annotated[HowMany, BeforeValidator(_counts)]


def _spelled(judge: Callable[[str], Odd | None]) -> AfterValidator:
    def refuse(text: str) -> str:
        if odd := judge(text):
            raise PydanticCustomError("bad-field", "{found}; expected {expected}. {way_out}", odd._asdict())
        return text

    return AfterValidator(refuse)


Word = Annotated[str, StringConstraints(min_length=1, max_length=120, strip_whitespace=True), _spelled(odd_name)]
Code = Annotated[str, StringConstraints(min_length=1, max_length=40, strip_whitespace=True), _spelled(odd_code)]

# a reference to something that stands
Animal = Annotated[Ref, Names(("animal",))]
Lot = Annotated[Ref, Names(("lot",))]
Subject = Annotated[Ref, Names(("animal", "lot"))]
Enclosure = Annotated[Ref, Names(("enclosure",))]
Taxon = Annotated[Ref, Names(("taxon",))]
House = Annotated[Ref, Names(("house",))]
Party = Annotated[Ref, Names(("house", "party"))]
OutsideParty = Annotated[Ref, Names(("party",))]
Person = Annotated[Ref, Names(("person",))]
Permit = Annotated[Ref, Names(("permit",))]
Agreement = Annotated[Ref, Names(("agreement",))]
Unit = Annotated[Ref, Names(("unit",))]
Brood = Annotated[Ref, Names(("brood",))]
# a number or code given for the first time (`must`), or for the first time perhaps (`may`)
NewAnimal = Annotated[Ref, Names(("animal",), "must")]
NewLot = Annotated[Ref, Names(("lot",), "must")]
MaybeNewAnimal = Annotated[Ref, Names(("animal",), "may")]
MaybeNewLot = Annotated[Ref, Names(("lot",), "may")]
NewEnclosure = Annotated[Ref, Names(("enclosure",), "must")]
NewTaxon = Annotated[Ref, Names(("taxon",), "must")]
NewHouse = Annotated[Ref, Names(("house",), "must")]
NewParty = Annotated[Ref, Names(("party",), "must")]
NewPerson = Annotated[Ref, Names(("person",), "must")]
NewPermit = Annotated[Ref, Names(("permit",), "must")]
NewAgreement = Annotated[Ref, Names(("agreement",), "must")]
NewUnit = Annotated[Ref, Names(("unit",), "must")]
NewBrood = Annotated[Ref, Names(("brood",), "must")]
# an animal that comes in for the first time: a new number, or an outside animal already known by another
ArrivingAnimal = Annotated[Ref, Names(("animal",), "outside")]
# a permit of the register, or the number of one that is not in it
PermitNumber = Annotated[Code | Ref, Names(("permit",), "plain")]


class Carried(BaseModel):
    """Base of every payload. `LATER` names fields that a later version takes; they are refused by name."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, str_strip_whitespace=True)


class Event(NamedTuple):
    """A standing event that another names: its id, kind, last possible day (ordinal) and payload."""

    event_id: str
    kind: str
    last: int
    payload: Carried


class Look(Protocol):
    """What a kind may ask of the book while it fills in what a person need not type."""

    def house_of(self, enclosure: Ref) -> Ref:
        """The member house of an enclosure."""

    def cells(self, subject: Ref) -> dict[Cell, int]:
        """Where its animals stand at the event's last possible day, before this event; empty if unknown or new."""

    def unnumbered(self, subject: Ref) -> set[Cell]:
        """Where a lot stands whose young were not counted, its uncounted rest too; empty for all other lots."""

    def ref(self, id: str) -> Ref:
        """A reference by id, called as it is called now."""

    def is_new(self, subject: Ref) -> bool:
        """True where this event is the first to bear that id."""

    def last_day(self) -> int:
        """The event's last possible day, as an ordinal."""

    def fields(self, thing: Ref) -> Mapping[str, Any]:
        """What the register says about a thing on that day, by field; empty where it says nothing."""

    def agreements(self, subject: Ref) -> list[Ref]:
        """Agreements under which it came or went, the newest first."""

    def event(self, called: str) -> Event | None:
        """The standing event of that position (`#12`) or id; None where there is none."""

    def about(self, kind: str, subject: Ref) -> list[Event]:
        """Other standing events of that kind about an animal or a lot, in the order of the log."""

    def last_owners(self, subject: Ref) -> set[str]:
        """Ids of who owns its animals by that day; where all have gone, of who owned the last that went."""


class CannotFill(Exception):
    """A field a person must give after all: `field`, what was `found`, what was `expected`, the `way_out`.

    `code` is the finding's code where one says it better than `bad-field`.
    """

    def __init__(self, field: str, found: str, expected: str, way_out: str, code: str = "bad-field") -> None:
        super().__init__(field)
        self.field, self.found, self.expected, self.way_out, self.code = field, found, expected, way_out, code


Sex = Annotated[str, BeforeValidator(_sex), StringConstraints(pattern="^(male|female|hermaphrodite|unknown)$")]
