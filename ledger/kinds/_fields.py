"""Forms of field that several kinds share, and the refusal a model gives when fields do not go together."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NoReturn
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints
from pydantic_core import PydanticCustomError

from ledger import dates
from ledger.kinds.base import Names, Ref


def refuse(field: str, found: str, expected: str, way_out: str, code: str = "bad-field") -> NoReturn:
    """Raise inside a validator. The error's type is the finding's code and its `ctx` holds the four parts."""
    raise PydanticCustomError(
        code,
        "{found}; expected {expected}. {way_out}",
        {"field": field, "found": found, "expected": expected, "way_out": way_out},
    )


def _edtf(text: str) -> str:
    try:
        dates.parse(text)
    except dates.DateRefused as error:
        refuse("", error.found, error.expected, error.way_out, error.code)
    return text


def _zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        refuse("time_zone", f"{text!r}", "a time zone of the IANA list", "Write it as in Europe/Lisbon.")
    return text


def kept_code(value: Any, field: str) -> Any:
    """Persons are stored by id only, so what was typed for one is kept as `code` beside it."""
    if isinstance(value, dict) and "code" not in value:
        typed = value.get(field)
        typed = typed.get("as") if isinstance(typed, dict) else typed
        if isinstance(typed, str):
            return {**value, "code": typed}
    return value


def in_turn(field: str, first: str | None, last: str | None) -> None:
    """Refuse a last day before the first."""
    if first is not None and last is not None and last < first:
        refuse(field, f"from {first} to {last}", "a last day that is not before the first", "Exchange or mend them.")


def _decimal(value: Any) -> Any:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _trimmed(value: Any) -> Any:
    return value.strip() if isinstance(value, str) else value


def _year(value: Any) -> Any:
    """A year may be typed as a number."""
    whole = isinstance(value, int) and not isinstance(value, bool) and 999 < value < 10_000
    return str(value) if whole else _trimmed(value)


def _whole(value: Any) -> Any:
    """A whole number may be typed as text, as at the command and in a sheet."""
    text = value.strip() if isinstance(value, str) else ""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 12 else value


# whole numbers of eggs, young, days: none or more, one or more
Number = Annotated[int, BeforeValidator(_whole), Field(ge=0, le=10**9, strict=True)]
Positive = Annotated[int, BeforeValidator(_whole), Field(ge=1, le=10**9, strict=True)]
Zone = Annotated[str, BeforeValidator(_trimmed), AfterValidator(_zone)]
# a date of the past that need not be one day: born, arrived, hatched on
Edtf = Annotated[str, BeforeValidator(_year), AfterValidator(_edtf)]
# one calendar day
Day = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$"), AfterValidator(_edtf)]
# from when a finding holds: since birth (the arrival is restated), or since a day
Since = Literal["birth"] | Day
# a measure as decimal text; no floats in stored bytes
Decimal = Annotated[str, BeforeValidator(_decimal), StringConstraints(pattern=r"^-?\d{1,9}(\.\d{1,6})?$")]

Standing = Literal["collection", "held_for_another", "rehabilitation", "feeder", "study", "on_trial"]
# how a lot is kept count of
Kept = Literal["counted", "estimated", "not_counted"]
Lost = Literal["escaped", "missing"]
# where animals are taken from: an enclosure, the party they are with, or lost
Place = Annotated[Lost | Ref, Names(("enclosure", "party"))]

# CITES codes stand in `words`; a test holds this list to it
CitesPurpose = Literal["T", "Z", "G", "Q", "S", "H", "P", "M", "E", "N", "B", "L"]
# one letter, or two where O (pre-Convention) stands beside another; which letters is a check's business
CitesSource = Annotated[str, StringConstraints(pattern=r"^[A-Z]([ /,+]?[A-Z])?$")]

Sureness = Literal["certain", "probable", "presumed"]
