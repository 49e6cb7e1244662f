"""A brood is over when it is over, and no more young come of it than there were eggs.

Finds a check, a move, young or a second end of a brood after the day it ended; and more young, born live and dead,
than the eggs that were counted exactly in a complete clutch, with those received besides. Numbers that are *at least*,
clutches not complete, and young of several broods say nothing. A warning only: twins and miscounts happen.
Source: derived (an egg gives one young, twins apart).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from ledger.checks.base import Batch, ident, say
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.kinds.base import HowMany

CODES = ("brood-over", "young-exceed-eggs")

YOUNG = ("hatching", "birth")
ABOUT = ("brood_check", "brood_move", "brood_end")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on entries about broods."""
    for draft in batch.drafts:
        event = draft.standing
        if event.kind not in (*YOUNG, *ABOUT, "brood"):
            continue
        for brood in _broods(event):
            told = list(batch.index.naming("named", brood))
            yield from _over(batch.index, draft, brood, told)
            yield from _too_many(batch.index, draft, brood, told)


def _broods(event: Standing) -> list[str]:
    named: Any = getattr(event.payload, "brood", None)
    return [ident(ref) for ref in (named if isinstance(named, list) else [named]) if ident(ref)]


def _over(index: Index, draft: Draft, brood: str, told: list[Standing]) -> Iterator[Finding]:
    event = draft.standing
    ends = [e for e in told if e.kind == "brood_end" and e.root != event.root]
    if event.kind == "brood_end":
        later = next((e for e in told if e.kind in (*YOUNG, *ABOUT) and e.first > event.last), None) or next(
            iter(ends), None
        )
        found = f"{say(index, later)} is of that brood too" if later is not None else ""
    elif event.kind in (*YOUNG, *ABOUT):
        later = next((e for e in ends if event.first > e.last), None)
        found = f"{index.name(brood)} ended on {date.fromordinal(later.last)}" if later is not None else ""
    else:
        return
    if later is not None:
        yield draft.at.finding(
            "brood-over",
            found,
            "an entry by the day the brood ended, and one end",
            f"Mend the date or the brood, or correct #{later.seq}.",
            "brood",
            later.seq,
        )


def _too_many(index: Index, draft: Draft, brood: str, told: list[Standing]) -> Iterator[Finding]:
    counted = [e for e in told if e.kind in ("brood", "brood_check") and _exact(e)]
    if not counted:
        return
    last = max(counted, key=lambda e: (e.last, e.root))
    eggs = getattr(last.payload, "eggs", 0)
    received = sum(getattr(e.payload, "how_many", 0) for e in told if _received(e))
    young = sum(_young(e) for e in told if _broods(e) == [brood])
    if young > eggs + received:
        more = f" and {received} received" if received else ""
        yield draft.at.finding(
            "young-exceed-eggs",
            f"{young} young of {index.name(brood)}, of {eggs} eggs{more}",
            "no more young than eggs",
            "Mend the number, or say that the eggs are at_least; if they were twins, accept it.",
            "how_many",
            last.seq if last.root != draft.standing.root else 0,
        )


def _exact(event: Standing) -> bool:
    p = event.payload
    return getattr(p, "eggs_are", None) == "exact" and bool(getattr(p, "clutch_complete", None))


def _received(event: Standing) -> bool:
    return event.kind == "brood_move" and getattr(event.payload, "from_party", None) is not None


def _young(event: Standing) -> int:
    """Young born live or dead by an entry."""
    if event.kind in YOUNG:
        return int(sum(n for _, n in event.payload.amount()))  # type: ignore[attr-defined]
    dead = getattr(event.payload, "stillborn", None)
    return dead.total() if isinstance(dead, HowMany) else 0
