"""Things of the register as they were on a day: made by one event, changed by later ones up to that day."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any, Final, NamedTuple

from ledger.read.copy import Standing
from ledger.read.numbers import as_typed, id_of

MAKING: Final = {  # kind -> the field that names what it makes, and the sort of it
    "house": ("house", "house"),
    "party": ("party", "party"),
    "person": ("person", "person"),
    "taxon": ("taxon", "taxon"),
    "enclosure": ("enclosure", "enclosure"),
    "permit": ("permit", "permit"),
    "agreement": ("agreement", "agreement"),
    "social_unit": ("unit", "unit"),
    "brood": ("brood", "brood"),
}
CHANGING: Final = {  # kind -> the field that names what it changes
    "enclosure_changed": "enclosure",
    "enclosure_closed": "enclosure",
    "party_changed": "party",
    "permit_changed": "permit",
    "agreement_changed": "agreement",
    "taxon_renamed": "taxon",
    "taxa_united": "taxon",
}
NAMING: Final = ("taxon_renamed", "taxa_united")
_CALLED_BY_CODE: Final = ("taxon", "person", "permit", "agreement", "brood")


class Thing(NamedTuple):
    """One named thing. `code` as people type it; `name` as people say it, the code where there is no other.

    `fields` are those of the event that made it, with what later ones changed; `since` and `event` are its day and
    position, `closed` the day it ended (ISO) among the fields.
    """

    id: str
    sort: str  # house party person enclosure taxon permit agreement unit brood
    code: str
    name: str
    fields: dict[str, Any]
    since: date = date.min
    event: int = 0


def made(event: Standing) -> Thing:
    """The thing an event of `MAKING` makes."""
    payload = event.payload
    field, sort = MAKING[event.kind]
    own = payload[field]
    code = as_typed(own) or str(payload.get("code") or "") or id_of(own)
    name = payload.get("name")
    spoken = code if sort in _CALLED_BY_CODE else name if isinstance(name, str) else code
    return Thing(id_of(own), sort, code, spoken, dict(payload), event.last, event.root)


def change(things: dict[str, Thing], events: Iterable[Standing], on: date, *, names_since: date) -> None:
    """Apply changes up to `on`, by day, in place; renamings and unions of taxa up to `names_since`."""
    for event in sorted(events, key=lambda e: (e.last, e.root)):
        field = CHANGING[event.kind]
        thing = things.get(id_of(event.payload.get(field)))
        limit = names_since if event.kind in NAMING else on
        if thing is not None and event.last <= limit:
            things[thing.id] = _changed(thing, field, event)


def _changed(thing: Thing, field: str, event: Standing) -> Thing:
    changed = {k: v for k, v in event.payload.items() if k not in (field, "note", "code", "evidence")}
    if event.kind == "enclosure_closed" or changed.pop("closed", None):
        changed["closed"] = event.last.isoformat()
    code, name = str(event.payload.get("code") or thing.code), thing.name
    if event.kind == "taxon_renamed":
        code = name = str(changed.pop("name"))
    elif thing.sort in _CALLED_BY_CODE:
        name = code
    elif isinstance(changed.get("name"), str):
        name = str(changed["name"])
    return thing._replace(code=code, name=name, fields={**thing.fields, **changed})
