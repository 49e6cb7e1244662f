"""The kinds of event, one file each. Adding one is its file, its name in the list below, and its YAML of cases."""

from __future__ import annotations

from difflib import get_close_matches

from ledger.kinds import (
    acquisition,
    agreement,
    agreement_changed,
    association,
    birth,
    book,
    brood,
    brood_check,
    brood_end,
    brood_move,
    count,
    courtship,
    death,
    draw,
    enclosure,
    enclosure_changed,
    enclosure_closed,
    escape,
    fed_out,
    hatching,
    hierarchy,
    house,
    join,
    marking,
    measurement,
    merge,
    missing,
    move,
    note,
    opening,
    outside_animal,
    pairing,
    parentage,
    parting,
    party,
    party_changed,
    permit,
    permit_changed,
    person,
    propagation,
    recovery,
    redetermination,
    release,
    remains,
    sex_change,
    sexing,
    sheet_received,
    sighting,
    social_unit,
    split,
    standing_change,
    taxa_united,
    taxon,
    taxon_renamed,
    title_change,
    transfer,
    unmarking,
    void,
)
from ledger.kinds._kind import Kind

__all__ = ["KINDS", "Kind", "load", "nearest", "schema"]

# in the order of the generated page
_LIST = (
    *(book, person, house, party, party_changed, enclosure, enclosure_changed, enclosure_closed),
    *(taxon, taxon_renamed, taxa_united, permit, permit_changed, agreement, agreement_changed),
    *(social_unit, outside_animal),
    *(opening, hatching, birth, propagation, acquisition, transfer, title_change, standing_change),
    *(death, remains, release, escape, missing, fed_out, recovery),
    *(move, split, merge, draw, join, count, sighting, marking, unmarking),
    *(sexing, sex_change, redetermination, measurement),
    *(courtship, pairing, parting, brood, brood_check, brood_move, brood_end),
    *(parentage, hierarchy, association),
    *(void, note, sheet_received),
)

KINDS: dict[str, Kind] = {module.NAME: Kind(module) for module in _LIST}


def load(name: str) -> Kind:
    """The kind of that name. `KeyError` where there is none."""
    return KINDS[name]


def schema(name: str) -> dict[str, object]:
    """JSON Schema (2020-12) of a kind's payload as people type it. `KeyError` where there is no such kind."""
    return KINDS[name].schema()


def nearest(name: str) -> str:
    """The kind most like a mistyped one; "" where none is."""
    return next(iter(get_close_matches(name.strip().lower().replace(" ", "_"), KINDS, 1, 0.6)), "")
