"""Waiting for the next mate: how many of those left behind had found one after so many days.

Definition. Episodes are those of `reports/waits.py`, one taxon at a time, never pooled. Two figures stand side by
side:

- `surv` is the product limit `S(t) = Π (1 - d/n)` over days u <= t with events: the share still without a mate, *had
  nothing else ended the wait*. Departures are censored.
- `paired` is the share that did pair again, `F(t) = Σ S_all(u-) d(u)/n(u)`, departures competing; `S_all` is the
  product limit of events and departures together. F is never above 1 - S.

At risk at t are episodes with `entry < t <= exit`: one that ends on t is, one that came in on t is not. A curve is
drawn from `ENOUGH` events on; below that the list of episodes says more. Steps with fewer than `FEW` at risk are
marked.

On the second clock only days with a possible mate count (`reports/mate_days.py`); delayed episodes are not on it, and
those that never had a possible mate are counted apart. How many next mates were *introduced* is printed beside: that
measures the keepers.

Source: D4 and D5 of the design. Product limit: Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457; delayed entry and
cumulative incidence are the textbook forms (Klein & Moeschberger, Survival Analysis, ch. 4). Checked against open
curves with delayed entry in `tests/test_waiting.py`.

Columns of `curve`: `day`, `at_risk`, `events`, `departures` (since the row before), `surv`, `paired`, `few`; of
`curves` the same after `taxon`, `clock` (every day, days with a possible mate). Of `episodes`: `taxon`, `animal`,
`former` (numbers), `end`, `entry`, `days`, `days_low`, `days_high`, `state`, `next_mate` (number), `introduced`,
`days_with_mate` (null: delayed), `pair`, `animal_id`, `taxon_id`. Of `summary`, a row a taxon: `episodes`, `animals`,
`events`, `introduced` (of the events), `departed`, `waiting`, `delayed`, `never_had` (own episodes without a possible
mate), `taxon_id`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.bonds import Bonds
from reports.mate_days import mate_days
from reports.stretches import first_after
from reports.waits import Wait, waits

ENOUGH: Final = 10  # events from which a curve says more than the list: common practice, no source
FEW: Final = 5  # at risk below which a step is marked: common practice, no source
CURVE: Final[dict[str, Any]] = {
    "day": pl.Float64,
    **dict.fromkeys(("at_risk", "events", "departures"), pl.Int64),
    **dict.fromkeys(("surv", "paired"), pl.Float64),
    "few": pl.Boolean,
}
EVERY_DAY, WITH_MATE = "every day", "days with a possible mate"
CURVES: Final[dict[str, Any]] = {"taxon": pl.String, "clock": pl.String, **CURVE}
EPISODES: Final[dict[str, Any]] = {
    **dict.fromkeys(("taxon", "animal", "former"), pl.String),
    "end": pl.Date,
    **dict.fromkeys(("entry", "days", "days_low", "days_high"), pl.Int64),
    **dict.fromkeys(("state", "next_mate"), pl.String),
    "introduced": pl.Boolean,
    "days_with_mate": pl.Int64,
    "pair": pl.Int64,
    **dict.fromkeys(("animal_id", "taxon_id"), pl.String),
}
_COUNTS: Final = ("episodes", "animals", "events", "introduced", "departed", "waiting", "delayed", "never_had")


class Waiting(NamedTuple):
    """The three frames of one question; a taxon with too few events has no curve."""

    episodes: pl.DataFrame
    summary: pl.DataFrame
    curves: pl.DataFrame


class Episode(NamedTuple):
    """At risk at t iff `entry < t <= exit`; it ends in an event, in a departure, or unseen."""

    entry: float
    exit: float
    event: bool
    departed: bool = False


def curve(episodes: Sequence[Episode]) -> pl.DataFrame:
    """Both shares at every time with an event; columns as said above. Episodes without a time at risk are left out."""
    seen = [e for e in episodes if e.entry < e.exit]
    entries, exits = sorted(e.entry for e in seen), sorted(e.exit for e in seen)
    events = Counter(e.exit for e in seen if e.event)
    departures = Counter(e.exit for e in seen if e.departed and not e.event)
    rows = []
    surv, every, paired, went = 1.0, 1.0, 0.0, 0
    for time in sorted(events.keys() | departures.keys()):
        at_risk = bisect_left(entries, time) - bisect_left(exits, time)
        d, c = events[time], departures[time]
        went += c
        paired += every * d / at_risk
        surv *= 1 - d / at_risk
        every *= 1 - (d + c) / at_risk
        if d:
            rows.append((float(time), at_risk, d, went, surv, paired, at_risk < FEW))
            went = 0
    return pl.DataFrame(rows, schema=CURVE, orient="row")


def waiting(copy: Copy, names: Names, asof: AsOf, found: Bonds, house: str, *, in_house: bool = False) -> Waiting:
    """Episodes of animals on hand at the house ("": at any) when they began to wait, by taxon and end."""
    own = [w for w in waits(found, names, asof) if w.episode and (not house or _at(found, w) == house)]
    mates = mate_days(copy, names, asof, found, own, in_house=in_house)
    rows = [
        (
            *(names.label(w.taxon_id), names.number(w.subject, house or None), names.number(w.mate, house or None)),
            *(w.end, w.entry, w.exit, w.exit_low, w.exit_high, w.state),
            names.number(w.next_mate, house or None) if w.next_mate else "",
            *(w.introduced, mates.get((w.pair, w.subject)), w.pair, w.subject, w.taxon_id),
        )
        for w in own
    ]
    episodes = pl.DataFrame(rows, schema=EPISODES, orient="row").sort("taxon", "end", "pair", "animal")
    by: dict[str, list[Wait]] = {}
    for w in own:
        by.setdefault(w.taxon_id, []).append(w)
    curves = [pl.DataFrame(schema=CURVES)]
    for taxon, group in by.items():
        every = [Episode(w.entry or 0, w.exit or 0, w.event, w.departed) for w in group if w.entry is not None]
        curves += _drawn(names.label(taxon), EVERY_DAY, every)
        days = [(w, mates.get((w.pair, w.subject), 0)) for w in group]
        beside = [Episode(-1, n - 1, w.event, w.departed) for w, n in days if n]
        curves += _drawn(names.label(taxon), WITH_MATE, beside)
    return Waiting(episodes, _summary(episodes), pl.concat(curves).sort("taxon", "clock", "day"))


def _at(found: Bonds, wait: Wait) -> str:
    """The house it was on hand at when the wait began."""
    assert wait.end is not None
    own = [s for s in found.own.get(wait.subject, ()) if s.on_hand]
    at = first_after(own, wait.end)
    return at.holder if at is not None else ""


def _drawn(taxon: str, clock: str, episodes: Sequence[Episode]) -> Iterable[pl.DataFrame]:
    """A curve, where there are events enough for one."""
    if sum(e.event for e in episodes) >= ENOUGH:
        yield curve(episodes).select(pl.lit(taxon).alias("taxon"), pl.lit(clock).alias("clock"), pl.all())


def _summary(episodes: pl.DataFrame) -> pl.DataFrame:
    own = pl.col("entry") == -1
    event = pl.col("next_mate") != ""
    going = pl.col("state") == "waiting"
    counts = (
        pl.len(),
        pl.col("animal_id").n_unique(),
        event.sum(),
        (event & pl.col("introduced")).sum(),
        (~event & ~going).sum(),
        going.sum(),
        (~own).sum(),
        (own & (pl.col("days_with_mate") == 0)).sum(),
    )
    named = [n.cast(pl.Int64).alias(name) for name, n in zip(_COUNTS, counts, strict=True)]
    return episodes.group_by("taxon", "taxon_id").agg(*named).select("taxon", *_COUNTS, "taxon_id").sort("taxon")
