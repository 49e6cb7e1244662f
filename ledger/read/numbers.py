"""Accession numbers of animals and lots, and which lots are not counted, read from the events that give them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final, NamedTuple

from ledger.read.copy import Standing

GIVING: Final = (
    *("opening", "hatching", "birth", "propagation", "acquisition", "transfer", "split", "draw", "outside_animal"),
)
NOT_COUNTED: Final = "not_counted"


class Number(NamedTuple):
    """A number as a house bears it; `name` of the animal, where it has one. An outside animal's has no house."""

    number: str
    house: str
    name: str


def id_of(value: Any) -> str:
    """The id of a reference in a payload; "" where there is none."""
    return str(value.get("id") or "") if isinstance(value, dict) else ""


def as_typed(value: Any) -> str:
    """What a person wrote for a reference."""
    return str(value.get("as") or "") if isinstance(value, dict) else ""


def numbers(events: Sequence[Standing], house_of: Callable[[str], str]) -> dict[str, list[Number]]:
    """Subject -> its numbers, by order of being given. `house_of`: the house of an enclosure.

    An outside animal that arrives bears the number of the house first, and after it the one it had from outside.
    """
    out: dict[str, list[Number]] = {}
    outside: set[str] = set()
    for event in events:
        payload = event.payload
        new = payload.get("new_number")
        for field in ("animal", "lot", "new"):
            subject = id_of(payload.get(field))
            if not subject or (event.kind in ("split", "draw") and field != "new"):
                continue
            known = out.get(subject)
            if event.kind == "outside_animal":
                outside.add(subject)
            if known is None or subject in outside:
                house = "" if event.kind == "outside_animal" else _house(payload, house_of, out)
                outside -= {subject} if house else set()
                given = _bare(as_typed(payload[field])) if house else as_typed(payload[field])
                name = str(payload.get("name") or (known[0].name if known else ""))
                out[subject] = [Number(given, house, name), *(known or [])]
            elif new:
                known.append(Number(_bare(as_typed(new) or str(new)), id_of(payload.get("to")), ""))
    return out


def _house(payload: dict[str, Any], house_of: Callable[[str], str], out: dict[str, list[Number]]) -> str:
    holder = id_of(payload.get("holder")) or house_of(id_of(payload.get("enclosure")))
    if holder:
        return holder
    source = out.get(id_of(payload.get("lot")), [])
    return source[0].house if source else id_of(payload.get("to"))


def _bare(number: str) -> str:
    """A number without the house it was typed with (`CODE:number`)."""
    return number.rpartition(":")[2]


def uncounted(events: Sequence[Standing]) -> frozenset[str]:
    """Lots that are kept without being counted, and what was parted from them."""
    found: set[str] = set()
    for event in events:
        payload = event.payload
        if payload.get("kept") == NOT_COUNTED:
            found.add(id_of(payload.get("lot")))
        elif event.kind == "split" and id_of(payload.get("lot")) in found:
            found.add(id_of(payload.get("new")))
    return frozenset(found - {""})
