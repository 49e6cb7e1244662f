"""Broods as the reports on pairs need them: whose they surely are, from when to when, what lived. Shared by them.

The partner of a dam is the social mate named with the brood, else its one sure sire; of a sire the one sure dam. A lot
is nobody's partner: which of it is not known. What lived is read from `reports/clutches.py`: live-born by the day, and
of those the least and most that were alive on their day 30; null where some have not reached it.

Source: definitions D6, D11, D12 and D17 of the design.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.bonds import Bond


class Laid(NamedTuple):
    """One brood. Ids, empty where not sure; `ended` None: open; `courtship` the root it came of, 0: not named."""

    code: str
    taxon_id: str
    dam: str
    sire: str
    social_mate: str
    start_first: date
    start: date
    ended: date | None
    courtship: int
    live: int
    alive_low: int | None
    alive_high: int | None

    @property
    def mate(self) -> str:
        """The dam's partner."""
        return self.social_mate or self.sire


class Young(NamedTuple):
    """What came of a bond: broods begun in it, live young by the day, those alive at 30 days at least and at most."""

    broods: int
    young: int | None
    alive_30_low: int | None
    alive_30_high: int | None


def laid(copy: Copy, names: Names, asof: AsOf) -> list[Laid]:
    """Broods begun by the day, by start; young of two that came without a brood stand for one of their own."""
    from reports.clutches import clutches
    from reports.young import young

    roots = copy.ids()
    told = copy.told(("brood",), {"brood": "$.brood.id", "courtship": "$.courtship"}, asof.known)
    came_of = dict(told.filter(pl.col("courtship").is_not_null()).select("brood", "courtship").iter_rows())
    out = []
    for clutch in clutches(copy, names, asof, young(copy, names, asof, of_two=True)):
        if clutch.shared or clutch.start > asof.on:
            continue
        states = clutch.states
        waits = states["not_yet"] > 0
        alive = (None, None) if waits else (states["alive"], states["alive"] + states["cannot_say"])
        named = roots.get(came_of.get(clutch.id, ""), 0)
        ids = (clutch.code, clutch.taxon, _one(clutch.dam), _one(clutch.sire), _one(clutch.entries.social_mate))
        out.append(Laid(*ids, clutch.start_first, clutch.start, clutch.ended, named, states["live"], *alive))
    return sorted(out, key=lambda b: (b.start, b.code))


def _one(id: str) -> str:
    return "" if id.startswith("g-") else id


def young_of(found: Sequence[Bond], broods: Iterable[Laid]) -> dict[int, Young]:
    """What came of each bond, by position of its pairing; each brood of the two in the bond it was begun in."""
    of: dict[frozenset[str], list[Bond]] = defaultdict(list)
    for bond in found:
        of[bond.two].append(bond)
    begun: dict[int, list[Laid]] = defaultdict(list)
    for brood in broods:
        for mate in {brood.mate, brood.sire} - {""}:
            mates = of.get(frozenset((brood.dam, mate)), ())
            within = [b.pair for b in mates if b.start <= brood.start < b.stop]
            if within:
                begun[within[0]].append(brood)
                break
    return {pair: _summed(own) for pair, own in begun.items()}


def _summed(own: Sequence[Laid]) -> Young:
    low, high = [b.alive_low for b in own], [b.alive_high for b in own]
    sums = [None if None in column else sum(n for n in column if n is not None) for column in (low, high)]
    return Young(len(own), sum(b.live for b in own), sums[0], sums[1])
