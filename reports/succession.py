"""Succession: per social unit its order, its open places, who is presumed next, and units without their dominant sex.

Definition. One row a unit and taxon that has members at the close of the day. Places, and who took or filled them,
as in `reports/places.py`. Presumed by the taxon's sexual system (definition D27): *male first*: the highest-ranked
functional male, else the highest immature; then the largest immature moves up to the male place. *Female first*: the
highest-ranked female; in a many-male group every male lost opens a place and the highest females follow in turn; of a
lot, one of so many, none identified. *Some born male*: males below count as candidates too. Other systems: nothing is
presumed, at most *mate missing*. The observed order rules, without one the sizes, without both only a sole candidate
is named; where nobody was measured the largest is the highest of the observed order, and it says so. Nothing presumed
enters a census.

State: *stands*; *filled by arrival* (the dominant one came from outside into an open place); *place open*; *change
under way*; *never had one*; *nothing presumed*; *cannot say* (the one dominant animal may be gone already).

Columns. `unit`, `assumed` (a lot that belongs to no unit), `taxon`, `common_name`, `system`, `kept_as` (individuals,
lot, both), `mfu`, `mfu_range`, `immature` (members of unknown sex), `state`, `dominant_sex`, `dominant`, `since` and
`since_possible` (of a single one); `order` (highest first, equals with =), `order_on`, `order_days` (its age),
`order_when` (before or after the last leaving), `order_by_size`, `size_on`, `agree` (yes, no, cannot say; D29);
`places_open`, `places_taken`; of the oldest open place, else the oldest taken: `open_since`, `open_since_possible`,
`opened_by`, `days_open` (from the day the loss counts on); `changing`, `changing_since`; `presumed_next`,
`presumed_for` (the sex of the place), `presumed_by`, `presumed_to_move_up`; `male_place_open_since`,
`male_place_opened_by`, `male_place_days` (male first); `without_days` (days without the dominant sex, of units that
once had it and hold two or more others, not all immature; D28); `range` (published days to completion and how they
are known), `range_low`, `range_high`, `over_by` (days beyond `range_high`); `flags` (what to mind). Days and numbers
are integers, days of the calendar dates, the rest text. `enclosure`: code; `unit_id`, `taxon_id`: ids.

Source: definitions D26 to D29 of the design; Shapiro 1981 (seen), Shapiro 1980 (second-hand). Presumed is derived.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.places import Place, Walk
from reports.presumed import Presumed, presume
from reports.sex_changes import UNDER_WAY, Change
from reports.unit_days import STAYING, Moment, last_leaving
from reports.unit_orders import agree, sizes_before
from reports.unit_ranges import Held, Ranges
from reports.unit_story import Stories, Story, stories
from reports.units import Days, Order, days_in, fact_of

_I, _S, _D = pl.Int64, pl.String, pl.Date
SCHEMA: Final[Mapping[str, Any]] = {
    "unit": _S, "assumed": pl.Boolean,
    **dict.fromkeys(("taxon", "common_name", "system", "kept_as", "mfu", "mfu_range"), _S), "immature": _I,
    **dict.fromkeys(("state", "dominant_sex", "dominant"), _S), "since": _D, "since_possible": _D,
    "order": _S, "order_on": _D, "order_days": _I, "order_when": _S, "order_by_size": _S, "size_on": _D, "agree": _S,
    "places_open": _I, "places_taken": _I, "open_since": _D, "open_since_possible": _D, "opened_by": _S,
    "days_open": _I, "changing": _S, "changing_since": _D,
    **dict.fromkeys(("presumed_next", "presumed_for", "presumed_by", "presumed_to_move_up"), _S),
    "male_place_open_since": _D, "male_place_opened_by": _S, "male_place_days": _I,
    "without_days": _I, "range": _S, "range_low": _I, "range_high": _I, "over_by": _I, "flags": _S,
    **dict.fromkeys(("enclosure", "unit_id", "taxon_id"), _S),
}  # fmt: skip
STATES: Final = (
    *("place open", "change under way", "cannot say", "filled by arrival", "stands", "never had one"),
    "nothing presumed",
)


class _Asked(NamedTuple):
    """What every row reads."""

    names: Names
    asof: AsOf
    told: Stories
    ranges: Ranges


def succession(copy: Copy, names: Names, asof: AsOf, house: str = "") -> pl.DataFrame:
    """Every unit at the close of `asof.on`, longest without first; columns as above. `house` (id): its tanks."""
    asked = _Asked(names, asof, stories(copy, names, asof), Ranges(copy, names, asof))
    rows = [
        _row(asked, story, story.moments[-1])
        for story in asked.told.stories
        if story.moments
        and story.moments[-1].present
        and (not house or names.house_of(story.moments[-1].home) == house)
    ]
    rows.sort(key=lambda r: (-(r["without_days"] or 0), STATES.index(r["state"]), -(r["days_open"] or 0), r["unit"]))
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def _row(asked: _Asked, story: Story, now: Moment) -> dict[str, Any]:
    names, on, first = asked.names, asked.asof.on, story.first
    under_way = [c for c in asked.told.changes if c.stage == UNDER_WAY and c.subject in now.present]
    held = asked.ranges.held(
        asked.told.units, story.unit, story.taxon, now.home, now.present, on, sum(c.n for c in under_way)
    )
    state = _state(story, held)
    order = next((o for o in reversed(asked.told.units.orders.get(story.unit.id, ()))), None)
    thing = names.thing(story.taxon)
    enclosure = names.thing(now.home)
    presumed = presume(asked.told.units, names, story, now, under_way, on, state) if first else Presumed()
    return {
        "unit": story.unit.code,
        "assumed": story.unit.assumed,
        "taxon": thing.name if thing else story.taxon,
        "common_name": str(thing.fields.get("common_name") or "") if thing else "",
        "system": story.system.replace("_", " "),
        "kept_as": _kept(now),
        "mfu": held.mfu,
        "mfu_range": held.range,
        "immature": held.counts.get("unknown", 0),
        "state": state,
        **_dominant(names, first),
        **_order(asked, story, order, now),
        **_places(names, first, on),
        "changing": ", ".join(_who(names, c) for c in under_way),
        "changing_since": min((c.step.days.high for c in under_way), default=None),
        **presumed._asdict(),
        **_male_place(names, story.second, on),
        **_days(asked, story, held, on),
        "flags": "; ".join(_flags(names, story, order, now, held)),
        "enclosure": enclosure.code if enclosure else "",
        "unit_id": story.unit.id,
        "taxon_id": story.taxon,
    }


def _state(story: Story, held: Held) -> str:
    """One of STATES."""
    first = story.first
    if first is None:
        return "nothing presumed"
    if not first.had:
        return "never had one"
    if not first.holders or (first.waiting and not first.many):
        return "place open" if first.open else "change under way"
    if not first.many and held.low.get(first.sex, 0) == 0:
        return "cannot say"
    came = any(p.state == "filled" and p.arrival and p.by in first.holders for p in first.places)
    return "filled by arrival" if came and not first.many else "stands"


def _kept(now: Moment) -> str:
    lots = sum(s.startswith("g-") for s in now.present)
    return "individuals" if not lots else "lot" if lots == len(now.present) else "both"


def _who(names: Names, change: Change) -> str:
    return (
        names.number(change.subject)
        if change.subject.startswith("a-")
        else f"{change.n} of {names.number(change.subject)}"
    )


def _dominant(names: Names, first: Walk | None) -> dict[str, Any]:
    if first is None:
        return {"dominant_sex": "", "dominant": "", "since": None, "since_possible": None}
    said = [
        names.number(s) if s.startswith("a-") else f"{n} {first.sex}{'s' if n > 1 else ''}"
        for s, n in first.holders.items()
    ]
    one = next(iter(first.since.values())) if len(first.since) == 1 else None
    single = one if one and sum(first.holders.values()) == 1 else None
    return {
        "dominant_sex": first.sex,
        "dominant": ", ".join(said),
        "since": single.high if single else None,
        "since_possible": single.low if single and single.low > date.min else None,
    }


def _order(asked: _Asked, story: Story, order: Order | None, now: Moment) -> dict[str, Any]:
    """The order as seen, marked where a member is no longer there, and the order by size of those who are."""
    names, on = asked.names, asked.asof.on
    sizes = sizes_before(asked.told.units, now.present, on + timedelta(days=1))
    fact = fact_of(names, story.taxon, "size_error_mm")
    same = agree(order, sizes, fact.high if fact else 0.0)
    left = last_leaving(story.moments)
    when = "" if order is None or left is None else "before" if order.days.high < left else "after"
    groups = order.ranks if order else ()
    return {
        "order": ", ".join(" = ".join(_there(names, s, now) for s in group) for group in groups),
        "order_on": order.days.high if order else None,
        "order_days": (on - order.days.high).days if order else None,
        "order_when": f"{when} the last leaving" if when else "",
        "order_by_size": ", ".join(f"{names.number(s)} {size.text}" for s, size in sizes.items()),
        "size_on": max((size.days.high for size in sizes.values()), default=None),
        "agree": {True: "yes", False: "no", None: "cannot say" if order and sizes else ""}[same],
    }


def _there(names: Names, subject: str, now: Moment) -> str:
    return names.number(subject) + ("" if subject in now.present else " (left)")


def _places(names: Names, first: Walk | None, on: date) -> dict[str, Any]:
    waiting: Sequence[Place] = first.waiting if first else ()
    opened = first.open if first else []
    place = next(iter(opened or waiting), None)
    days = place.loss.days if place else None
    return {
        "places_open": len(opened) if first else None,
        "places_taken": len(waiting) - len(opened) if first else None,
        "open_since": days.high if days else None,
        "open_since_possible": days.low if days and days.low > date.min else None,
        "opened_by": _loss(names, place),
        "days_open": (on - days.high).days if days else None,
    }


def _loss(names: Names, place: Place | None) -> str:
    return f"{names.number(place.loss.subject)}, {place.loss.what}" if place else ""


def _male_place(names: Names, second: Walk | None, on: date) -> dict[str, Any]:
    place = next(iter(second.waiting), None) if second and not second.holders else None
    return {
        "male_place_open_since": place.loss.days.high if place else None,
        "male_place_opened_by": _loss(names, place),
        "male_place_days": (on - place.loss.days.high).days if place else None,
    }


def _days(asked: _Asked, story: Story, held: Held, on: date) -> dict[str, Any]:
    """Days without the dominant sex, the published range, and how far beyond it."""
    first, fact = story.first, fact_of(asked.names, story.taxon, "completion_days")
    high = round(days_in(fact, fact.high)) if fact else None
    low = round(days_in(fact, fact.low)) if fact else None
    days: Days | None = first.waiting[0].loss.days if first and first.waiting else None
    counted = days and (on - days.high).days
    grown = held.total - held.counts.get("unknown", 0)
    alone = first is not None and first.had and not first.holders and held.total >= 2 and grown > 0
    over = counted - high if alone and counted is not None and high is not None else 0
    return {
        "without_days": counted if alone else None,
        "range": f"{low}–{high} d, {fact.source}" if fact and first else "",
        "range_low": low if first else None,
        "range_high": high if first else None,
        "over_by": over if over > 0 else None,
    }


def _flags(names: Names, story: Story, order: Order | None, now: Moment, held: Held) -> list[str]:
    out = []
    if order is not None:
        gone = [names.number(s) for group in order.ranks for s in group if s not in now.present]
        if gone:
            out.append(f"{', '.join(gone)} left since the order was seen")
        joined = [
            m.day for m in story.moments if any(f.reason not in STAYING for f in m.flows) and m.day > order.days.high
        ]
        if joined:
            out.append(f"the order is older than the last change of membership, {max(joined)}")
    if story.first is None:
        ever = {sex for m in story.moments for own in m.present.values() for sex in own}
        missing = {"male", "female"} & ever - set(held.counts)
        if missing and len({"male", "female"} & set(held.counts)) == 1:
            out.append(f"mate missing: no {next(iter(missing))}")
    elif story.first.many and story.first.holders and story.first.waiting:
        out.append("males remain; in a many-male group each one lost opens a place")
    return out
