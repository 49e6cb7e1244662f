"""What facts between animals share: lists of animals, spells with a start and an end, other events they name."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field

from ledger.dates import Day, parse
from ledger.kinds._fields import refuse
from ledger.kinds._subject import called, ident
from ledger.kinds.base import Animal, CannotFill, Event, Look, Ref, Subject


def listed(value: Any) -> Any:
    """One may be written without the brackets of a list."""
    return (
        [value] if isinstance(value, str | Ref) or (isinstance(value, dict) and set(value) <= {"as", "id"}) else value
    )


# in the schema: a list of one may be written as that one
SHORT: Final = {"one_alone": True}
# one or more who did something, or whom it was done with
Some = Annotated[list[Subject], BeforeValidator(listed), Field(min_length=1, json_schema_extra=SHORT)]
SomeAnimals = Annotated[list[Animal], BeforeValidator(listed), Field(min_length=1, json_schema_extra=SHORT)]


def in_order(field: str, since: str | None, until: str | None) -> None:
    """Refuse a spell that must have ended before it can have begun; inside a model."""
    begin = parse(since).first if since is not None else None
    end = parse(until).last if until is not None else None
    if isinstance(begin, Day) and isinstance(end, Day) and end < begin:
        refuse(field, f"from {since} to {until}", "an end that is not before the start", "Exchange or mend them.")


def all_different(field: str, refs: Iterable[Ref]) -> None:
    """Refuse one and the same animal twice."""
    seen: set[str] = set()
    for ref in refs:
        if ident(ref) in seen:
            raise CannotFill(field, f"{called(ref)} twice", "each animal once", "Leave one out, or name the other.")
        seen.add(ident(ref))


def event_of(look: Look, field: str, said: str | None, kinds: tuple[str, ...], expected: str) -> Event | None:
    """The standing event that a field names (`#n` or its id), which must be of one of these kinds; None if unsaid."""
    if said is None:
        return None
    found = look.event(said)
    if found is None or found.kind not in kinds:
        what = f"{said!r} is no event that stands" if found is None else f"{said!r} is a {found.kind.replace('_', ' ')}"
        raise CannotFill(field, what, expected, "Name it as #n.", "unknown-event")
    return found
