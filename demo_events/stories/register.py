"""The register: staff, partners, enclosures and taxa, entered before anything refers to them."""

from __future__ import annotations

from datetime import date
from typing import Any

from demo_events import taxa
from demo_events.diary import Diary
from demo_events.roster import BEGIN, ENCLOSURES, FIRST_PERSON, HOUSES, JOINED, PARTIES, PERSONS
from demo_events.storyteller import Story

REGISTRAR = FIRST_PERSON.code


def tell(diary: Diary, place: int) -> None:
    """Everything of the first day, then what joined later, each on the day from which it may be used."""
    s = Story(diary, place, "register", "Office", REGISTRAR)
    s.put("house", JOINED, dict(HOUSES["SK"]), unseen=True, by=REGISTRAR)
    for person in PERSONS:
        _enter(s, "person", person.since, {"person": person.code, "name": person.name, "role": person.role})
    for party in PARTIES:
        more: dict[str, Any] = {"authority_numbers": dict(party.numbers)} if party.numbers else {}
        if party.members:
            more |= {"members": [{sort: code, "share": share} for sort, code, share in party.members]}
        fields = {"party": party.code, "name": party.name, "sort": party.sort, "country": party.country}
        _enter(s, "party", party.since, fields | more)
    for e in ENCLOSURES:
        parent = {"parent": e.parent} if e.parent else {}
        fields = {"enclosure": e.code, "name": e.name, "house": e.house} | parent
        _enter(s, "enclosure", e.since, fields | {"section": e.section, "purpose": e.purpose, "setting": e.setting})
    for taxon in taxa.TAXA:
        _enter(s, "taxon", taxon.since, taxa.payload(taxon))
    _changes(s)


def _enter(s: Story, kind: str, since: date, payload: dict[str, Any]) -> None:
    """Typed on the day; a register entry of the first day by the first person, who alone is known then."""
    by = REGISTRAR if since in (BEGIN, JOINED) else ""
    s.put(kind, since, payload, unseen=True, by=by)


def _changes(s: Story) -> None:
    """What became of some enclosures."""
    s.put(
        "enclosure_changed",
        date(2025, 4, 7),
        {"enclosure": "V2", "name": "Reef workshop", "purpose": "exhibit"},
        unseen=True,
    )
    s.note(
        date(2025, 4, 7), "surroundings", "Window cut into the back corridor; visitors now see the reserve tanks.", "V2"
    )
    s.put(
        "enclosure_closed",
        date(2026, 1, 12),
        {"enclosure": "H2", "note": "Crack in the rear pane; stripped and drained."},
        unseen=True,
    )
    s.put(
        "enclosure",
        date(2026, 2, 16),
        {"enclosure": "H3", "name": "Hospital tank 3", "house": "MS", "section": "Behind the scenes"}
        | {"purpose": "holding", "setting": "indoors"},
        unseen=True,
    )
