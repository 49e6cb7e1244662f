"""Broods by parent, in the order of their starts: what `sexes` asks for the first brood in a new sex."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from ledger.read import AsOf, Copy
from reports.papers import called, id_of
from reports.units import Days, days_of


def first_broods(copy: Copy, asof: AsOf) -> dict[tuple[str, str], Sequence[tuple[date, str]]]:
    """(parent, dam or sire) -> (last possible day of the start, brood), of broods begun by the day.

    A hatching or birth that names a parent and no brood stands for a brood of its own, on its day (definition D34 of
    the design).
    """
    out: dict[tuple[str, str], list[tuple[date, str]]] = defaultdict(list)
    for event in copy.standing(("brood", "hatching", "birth"), asof.known):
        p = event.payload
        if event.kind != "brood" and p.get("brood"):
            continue
        own = Days(event.first or date.min, event.last)
        start = (days_of(p.get("started"), own) or own).high
        if start > asof.on:
            continue
        code = called(p.get("brood")) or f"{called(p.get('animal') or p.get('lot') or p.get('into'))} ({event.kind})"
        for parent, role in _parents(p):
            out[parent, role].append((start, code))
    return {key: sorted(set(found)) for key, found in out.items()}


def _parents(payload: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for pair in (payload, *(payload.get("parents") or ())):
        for role in ("dam", "sire"):
            if parent := id_of(pair.get(role)):
                yield parent, role
