"""Young that entered the book by a hatching or a birth, their five states on a day, and their survival to 30 days.

The five states of the young born alive are: alive (on their day 30), dead (by day 30, day 30 inside, or missing), left
(before it, alive when they left), not yet (their day 30 is still to come), cannot say. They sum to the live-born
(D11, D12; how they are found, `fates.py`). Day 30 is that of each hatching, counted from `hatched_on` where they
entered the book later (D33): what is said then holds of those that lived to enter it.

Survival to 30 days is the product limit S = Π(1 - d/n) over days of age: n at risk, d dead, those that left going out
of the risk after their day. Its low bound lets the certain dead die as late as they can have, those that left leave as
early, and all that cannot be said die on day 30; its high bound the contrary, and all that cannot be said live. Both
are bounds because a death moved later past a leaving only lowers the product, and a leaving exchanged for a death on
day 30 too. A hatching whose day 30 is not past is not in it, nor is one where nobody stayed to day 30. Source: the
estimator is Kaplan and Meier's; the bounds derived, D11 and D12.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import orjson
import polars as pl

from ledger.dates import End, parse
from ledger.read import AsOf, Copy, Names
from reports.fates import Fate, fates
from reports.young_steps import BORN, Hatching, Told

LIMIT: Final = 30  # days; source as `ages.LIMIT`
STATES: Final = ("alive", "dead_30", "left_30", "not_yet", "cannot_say")
_PARTS: Final = {
    **{field: f"$.{field}.id" for field in ("animal", "lot", "into", "dam", "sire", "taxon", "enclosure")},
    **{field: f"$.{field}" for field in ("brood", "hatched_on")},
}
Span = tuple[date, date]  # first and last possible day


class Bounds(NamedTuple):
    """Least and most of a share, 0 to 1."""

    low: float
    high: float


@dataclass(frozen=True)
class Young:
    """Young of one hatching or birth on a day.

    `event`: root of the entry. `subject`: the animal or lot they entered. `broods`: ids of the broods they are of; none
    where none is named. `born`: possible days of birth, `entered`: of entering the book, `late` where they entered it
    after their birth. `fate` is None where they are not counted (yet).
    """

    event: int
    kind: str
    subject: str
    broods: tuple[str, ...]
    dam: str
    sire: str
    taxon: str
    enclosure: str
    born: Span
    entered: Span
    late: bool
    fate: Fate | None

    @property
    def live(self) -> int:
        """How many were born alive, as far as they are counted."""
        return self.fate.live if self.fate is not None else 0


def young(copy: Copy, names: Names, asof: AsOf, limit: int = LIMIT, *, of_two: bool = False) -> list[Young]:
    """All young that had entered the book by the close of `asof.on`, as known, in the order of their entries.

    `of_two`: only those whose entry names a brood, or both a dam and a sire.
    """
    births = copy.told(("hatching", "birth"), _PARTS, asof.known)
    if of_two:
        both = pl.col("dam").is_not_null() & pl.col("sire").is_not_null()
        births = births.filter(pl.col("brood").is_not_null() | both)
        if not births.height:
            return []
    flows = copy.ask("young_flows", known=asof.known, subjects=None)
    lines = flows.filter(pl.col("way").is_in(BORN) & (pl.col("n") > 0) & (pl.col("pool") == "here"))
    counted = {row[0]: row[1:] for row in lines.select("effect", "subject", "n", "could_from", "counts_on").iter_rows()}
    hemisphere = str(names.book.get("hemisphere") or "north")
    rows, hatchings = [], []
    for event in births.iter_rows(named=True):
        subject = event["animal"] or event["lot"] or event["into"] or ""
        line = None if subject in names.uncounted else counted.get(event["root"])
        entered = (line[2], line[3]) if line else (event["first_day"] or event["last_day"], event["last_day"])
        if entered[1] > asof.on:
            continue
        born = span(event["hatched_on"], hemisphere, entered[1]) or entered
        rows.append((event, subject, born, entered))
        hatchings.append(Hatching(event["root"], line[0], line[1], *born) if line else None)
    told = Told(flows)
    found = iter(fates(told, [h for h in hatchings if h is not None], asof.on, limit))
    return [
        _young(event, subject, born, entered, next(found) if hatching is not None else None)
        for (event, subject, born, entered), hatching in zip(rows, hatchings, strict=True)
    ]


def _young(event: dict[str, Any], subject: str, born: Span, entered: Span, fate: Fate | None) -> Young:
    named = orjson.loads(event["brood"]) if event["brood"] else []
    broods = tuple(str(b["id"]) for b in (named if isinstance(named, list) else [named]))
    parents = (event["dam"] or "", event["sire"] or "", event["taxon"] or "", event["enclosure"] or "")
    late = bool(event["hatched_on"]) and born[1] < entered[1]
    return Young(event["root"], event["kind"], subject, broods, *parents, born, entered, late, fate)


def span(text: str | None, hemisphere: str, last: date) -> Span | None:
    """Possible days of an EDTF date, none after `last`; an open start is its last day. None where there is no date."""
    if not text:
        return None
    value = parse(text, hemisphere="south" if hemisphere == "south" else "north")
    end = last if isinstance(value.last, End) else min(date(*value.last), last)
    begin = end if isinstance(value.first, End) else date(*value.first)
    return min(begin, end), end


def states(parts: Iterable[Young]) -> dict[str, int]:
    """Live-born and the five states of several hatchings together: live, alive, dead_30, … and not_yet_low."""
    out = dict.fromkeys(("live", *STATES, "not_yet_low"), 0)
    for fate in (y.fate for y in parts if y.fate is not None):
        figures = (fate.live, fate.alive, fate.dead, fate.left, fate.not_yet, fate.cannot_say, fate.not_yet_low)
        for key, n in zip(out, figures, strict=True):
            out[key] += n
    return out


# --- survival -------------------------------------------------------------------------------------

_Exit = tuple[int, int, int, bool]  # how many, entry (at risk after it), exit, whether dead


def survival(parts: Sequence[Young], on: date, limit: int = LIMIT) -> Bounds | None:
    """Survival to day `limit` of those whose day has come; None where there are none, or nobody was watched so far."""
    done = [y for y in parts if y.live and y.born[1] + timedelta(days=limit) <= on]
    low = [e for y in done for e in _exits(y, limit, worst=True)]
    high = [e for y in done for e in _exits(y, limit, worst=False)]
    worst, best = product_limit(low, limit), product_limit(high, limit)
    return None if worst is None or best is None else Bounds(worst, best)


def _exits(one: Young, limit: int, *, worst: bool) -> list[_Exit]:
    fate = one.fate
    assert fate is not None
    entry = -1
    if one.late:
        first, last = max(0, (one.entered[0] - one.born[1]).days), (one.entered[1] - one.born[0]).days
        entry = (last if worst else first) - 1
    out: list[_Exit] = [(fate.alive, entry, limit, False), (fate.cannot_say, entry, limit, worst)]
    out += [(a.n, entry, a.high if worst else a.low, True) for a in fate.dead_ages]
    out += [(a.n, entry, a.low if worst else min(a.high, limit), False) for a in fate.left_ages]
    # an exit is not before the entry: who was seen to go on a day was at risk on it
    return [(n, e, max(x, e + 1), died) for n, e, x, died in out if n and e < limit]


def product_limit(exits: Sequence[_Exit], limit: int) -> float | None:
    """S at day `limit`: at risk on day t are those with entry < t <= exit. None where nobody was, before S was 0."""
    share = 1.0
    for day in range(limit + 1):
        risk = sum(n for n, entry, leaves, _ in exits if entry < day <= leaves)
        dead = sum(n for n, _, leaves, died in exits if died and leaves == day)
        if risk:
            share *= 1 - dead / risk
        if share == 0:
            return 0.0
    return share if any(leaves >= limit for _, _, leaves, _ in exits) else None
