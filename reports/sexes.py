"""Sex transitions: which animals changed sex, after whose loss, how long it took, from which rank and size.

Definition. One row a change, from its first sign to how it ended by the close of the day (`reports/sex_changes.py`).
The loss that opened its place is the one the entry names, else the oldest open place of the unit at the first sign,
at the completion where no sign took one (`reports/places.py`): *presumed* is said. With loss [l1, l2], sign [s1, s2]
and completion [c1, c2] as possible days: days from loss to sign are s1 − l2 to s2 − l1 (below zero where they
overlap), to completion likewise, from sign to completion max(0, c1 − s2) to c2 − s1. Rank is that of the last order
of the unit seen before the loss (before the sign, where no loss is on record); where none names the animal, its
place among the members by the latest measurement before, marked *size*.

Columns. Of the change: `animal` (number), `n`, `taxon`, `common_name`, `system`, `unit`, `from`, `to` (sexes), `nth`
(which of the animal's changes), `fits` (expected, known exception, against, not known; definition D30), `stage` (under
way, completed, given up, gone before completion), `ended_on` (the day of the last three), `sign`, `sign_basis`,
`completed`, `completed_basis`, `age_at_sign`, `size`, `rank` (`2 of 4`), `rank_seen`, `rank_days` (age of the order at
the loss, else the sign), `rank_by` (order, size); `loss` (`X1, transfer 2025-02-01`), `loss_by` (recorded, presumed,
no loss on record), `place` (open again, taken, filled), `other_losses` (of that sex and unit, in the year before the
sign, with what became of each), `loss_to_sign`, `loss_to_completed`, `sign_to_completed`, `unit_mates` (same taxon and
unit, at the close of the day of the loss), `first_brood` and `first_brood_on` in the new sex, `restated` (what it did
to figures), `unit_mfu` and `unit_range` (the unit on the day asked about). What has a range is text (`17–21`) with
`_low` and `_high` beside it: days as integers, `sign` and `completed` as dates, `loss_low` and `loss_on` as dates.
`subject`: id; `event`: position of the first entry.

Source: definitions D23 to D26 and D30 of the design; intervals derived. An interval of 18 days often quoted runs
from putting widowed males together, not from a loss in a group (Casadevall et al. 2009, seen).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.first_broods import first_broods
from reports.places import LEFT, Link, Loss, Place
from reports.restating import REPLACES, effects
from reports.sex_changes import UNDER_WAY, Change
from reports.unit_days import at
from reports.unit_orders import order_before, rank_by_size, sizes_before
from reports.unit_ranges import Ranges
from reports.unit_story import Stories, Story, stories
from reports.units import Days

_I, _S, _D = pl.Int64, pl.String, pl.Date
SCHEMA: Final[Mapping[str, Any]] = {
    "animal": _S, "n": _I, **dict.fromkeys(("taxon", "common_name", "system", "unit", "from", "to"), _S),
    "nth": _I, "fits": _S, "stage": _S, "ended_on": _D,
    "sign": _S, "sign_low": _D, "sign_high": _D, "sign_basis": _S,
    "completed": _S, "completed_low": _D, "completed_high": _D, "completed_basis": _S,
    "age_at_sign": _S, "age_at_sign_low": _I, "age_at_sign_high": _I, "size": _S,
    "rank": _S, "rank_seen": _D, "rank_days": _I, "rank_by": _S,
    "loss": _S, "loss_low": _D, "loss_on": _D, "loss_by": _S, "place": _S, "other_losses": _S,
    **{f"{x}{end}": _I if end else _S for x in ("loss_to_sign", "loss_to_completed", "sign_to_completed")
       for end in ("", "_low", "_high")},
    "unit_mates": _S, "first_brood": _S, "first_brood_on": _D, "restated": _S, "unit_mfu": _S, "unit_range": _S,
    "subject": _S, "event": _I,
}  # fmt: skip
PRESUMED, RECORDED, NO_LOSS = "presumed", "recorded", "no loss on record"
YEAR: Final = timedelta(days=365)  # how far back other losses are named; a parameter of the page, no source
EXPECTED: Final = {
    "male_first": {"female"},
    "female_first": {"male"},
    "some_born_male": {"male"},
    "both_ways": {"male", "female"},
    "male_first_then_both": {"hermaphrodite"},
}
REVERSALS: Final = ("female_first", "some_born_male")  # male back to female: known in wrasses


class _Asked(NamedTuple):
    """What every row reads."""

    copy: Copy
    names: Names
    asof: AsOf
    told: Stories
    ranges: Ranges
    broods: Mapping[tuple[str, str], Sequence[tuple[date, str]]]
    replaced: Mapping[int, Sequence[str]]


def sexes(copy: Copy, names: Names, asof: AsOf, house: str = "") -> pl.DataFrame:
    """All changes with a stage up to the close of `asof.on`; columns as above. `house` (an id): of its tanks only."""
    told = stories(copy, names, asof)
    asked = _Asked(copy, names, asof, told, Ranges(copy, names, asof), first_broods(copy, asof), _replaced(copy, asof))
    count: Counter[str] = Counter()
    rows = []
    for change in told.changes:
        count[change.subject] += 1
        if not house or _house(asked, change) == house:
            rows.append(_row(asked, change, count[change.subject]))
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def _house(asked: _Asked, change: Change) -> str:
    """The house in whose enclosure the subject last was by the day of the first entry, else first is."""
    rows = [r for r in asked.told.units.stands.get(change.subject, ()) if r["place"].startswith("e-")]
    before = [r for r in rows if r["since"] <= change.step.days.high] or rows[:1]
    return asked.names.house_of(before[-1]["place"]) if before else ""


def _row(asked: _Asked, change: Change, nth: int) -> dict[str, Any]:
    names, step, done = asked.names, change.step, change.completed
    story = _story(asked.told, change)
    taxon = story.taxon if story else _taxon(asked.told, change)
    thing = names.thing(taxon)
    system = str(thing.fields.get("sexual_system") or "") if thing else ""
    links = _links(asked, story, change)
    loss = (
        Days(min(link.loss.days.low for link in links), max(link.loss.days.high for link in links)) if links else None
    )
    sign = change.sign.days if change.sign else None
    end = done.days if done else None
    rank, seen, by = _rank(asked, story, change, (loss or step.days).low)
    since = (loss.low if loss else step.days.low) if seen else None
    brood = _brood(asked, change)
    return {
        "animal": names.number(change.subject),
        "n": change.n,
        "taxon": thing.name if thing else taxon,
        "common_name": str(thing.fields.get("common_name") or "") if thing else "",
        "system": system.replace("_", " "),
        "unit": story.unit.code if story else "",
        "from": step.was,
        "to": step.to,
        "nth": nth,
        "fits": fits(system, step.was, step.to),
        "stage": change.stage,
        "ended_on": change.end.days.high if change.end else change.gone,
        **_days("sign", sign),
        "sign_basis": change.sign.evidence.replace("_", " ") if change.sign else "",
        **_days("completed", end),
        "completed_basis": done.evidence.replace("_", " ") if done else "",
        **_between("age_at_sign", asked.told.units.births.get(change.subject), sign),
        "size": _size(asked, change),
        "rank": rank,
        "rank_seen": seen,
        "rank_days": (since - seen).days if since and seen and since > date.min else None,
        "rank_by": by,
        **_loss(asked, links, loss),
        "place": _place(links, change),
        "other_losses": _others(asked, story, links, step.days.high, step.to),
        **_between("loss_to_sign", loss, sign),
        **_between("loss_to_completed", loss, end),
        **_between("sign_to_completed", sign, end, floor=True),
        "unit_mates": _mates(asked, story, change, (loss or step.days).high),
        "first_brood": brood[1] if brood else "",
        "first_brood_on": brood[0] if brood else None,
        "restated": _restated(asked, change),
        **_unit_now(asked, story),
        "subject": change.subject,
        "event": step.root,
    }


def fits(system: str, was: str, to: str) -> str:
    """Whether a change is what the taxon's sexual system has (definition D30)."""
    if not system:
        return "not known"
    if was != "hermaphrodite" and to in EXPECTED.get(system, ()):
        return "expected"
    if was == "unknown" and system in EXPECTED and to != "hermaphrodite":
        return "expected"
    return "known exception" if (was, to) == ("male", "female") and system in REVERSALS else "against"


def _story(told: Stories, change: Change) -> Story | None:
    """The unit of a change: the one whose place it took, else one it was in on the day of its first entry."""
    mine = [s for s in told.stories if any(m.subject == change.subject for m in told.units.members[s.unit.id])]
    linked = [s for s in mine if s.first and s.first.links.get(change.key)]
    there = [s for s in mine if (m := at(s.moments, change.step.days.high)) and change.subject in m.present]
    return next(iter(linked or there), None)


def _taxon(told: Stories, change: Change) -> str:
    rows = told.units.stands.get(change.subject, ())
    held = [r for r in rows if r["since"] <= change.step.days.high] or list(rows[:1])
    return str(held[-1]["taxon"]) if held else ""


# --- the loss ---------------------------------------------------------------------------------------


def _links(asked: _Asked, story: Story | None, change: Change) -> list[Link]:
    """The losses it is set against; one that its entry names and no place of the unit has, from the entry alone."""
    found = story.first.links.get(change.key, []) if story and story.first else []
    if not change.opened_by or any(link.recorded for link in found):
        return found
    event = next((e for e in asked.copy.standing(tuple(_LOSSES), asked.asof.known) if e.root == change.opened_by), None)
    if event is None:
        return found
    subject = next((str(v["id"]) for k in ("animal", "lot") if (v := event.payload.get(k))), "")
    loss = Loss(subject, _LOSSES[event.kind], event.root, Days(event.first or date.min, event.last))
    place = found[0].place if found else Place(loss)
    return [Link(loss, place, recorded=True)]


_LOSSES: Final = {
    **{kind: kind for kind in ("death", "transfer", "escape", "missing", "release")},
    "move": LEFT["re_housed"],
    "sex_change": LEFT["sex_changed"],
}


def said(names: Names, loss: Loss) -> str:
    """`X1, transfer 2025-02-01`, both ends where the day is not sure."""
    return f"{names.number(loss.subject)}, {loss.what} {_range(loss.days)}"


def _range(days: Days) -> str:
    if days.low == days.high:
        return days.high.isoformat()
    return f"by {days.high}" if days.low == date.min else f"{days.low} to {days.high}"


def _loss(asked: _Asked, links: Sequence[Link], loss: Days | None) -> dict[str, Any]:
    words = list(dict.fromkeys(said(asked.names, link.loss) for link in links))
    by = NO_LOSS if not links else RECORDED if all(link.recorded for link in links) else PRESUMED
    low = loss.low if loss and loss.low > date.min else None
    return {"loss": "; ".join(words), "loss_low": low, "loss_on": loss.high if loss else None, "loss_by": by}


def _place(links: Sequence[Link], change: Change) -> str:
    """What became of the place it was set against."""
    if not links:
        return ""
    mine = [link.place for link in links if link.place.change is not None and link.place.change.key == change.key]
    if mine:
        return mine[0].state
    return "open again" if links[0].place.state == "open" else f"{links[0].place.state} by another"


def _others(asked: _Asked, story: Story | None, links: Sequence[Link], sign: date, to: str) -> str:
    """Other losses of the sex in the unit in the year before, and what became of their places."""
    if story is None or story.first is None or story.first.sex != to:
        return ""
    own = [id(link.place) for link in links]
    places = [p for p in story.first.places if sign - YEAR <= p.loss.days.high <= sign and id(p) not in own]
    told = Counter(f"{said(asked.names, p.loss)} ({became(asked.names, p)})" for p in places)
    return "; ".join(text if n == 1 else f"{n} × {text}" for text, n in told.items())


def became(names: Names, place: Place) -> str:
    """`place filled by X1`, `place open`."""
    return f"place {place.state} by {names.number(place.by)}" if place.by else f"place {place.state}"


# --- rank, size, company ------------------------------------------------------------------------------


def _rank(asked: _Asked, story: Story | None, change: Change, before: date) -> tuple[str, date | None, str]:
    """`2 of 4`, the day it was seen, and by what."""
    if story is None:
        return "", None, ""
    order = order_before(asked.told.units, story.unit.id, before, change.subject)
    if order is not None:
        return f"{order.rank(change.subject)} of {order.n}", order.days.high, "order"
    moment = at(story.moments, before - timedelta(days=1)) if before > date.min else None
    sizes = sizes_before(asked.told.units, moment.present if moment else (), before)
    rank = rank_by_size(sizes, change.subject)
    return (f"{rank} of {len(sizes)}", sizes[change.subject].days.high, "size") if rank else ("", None, "")


def _size(asked: _Asked, change: Change) -> str:
    sizes = sizes_before(asked.told.units, [change.subject], change.step.days.high + timedelta(days=1))
    return "; ".join(f"{size.text} {size.measure}, {size.days.high}" for size in sizes.values())


def _mates(asked: _Asked, story: Story | None, change: Change, day: date) -> str:
    moment = at(story.moments, day) if story else None
    mates = []
    for subject, counts in moment.present.items() if moment else ():
        n = sum(counts.values()) - (change.n if subject == change.subject else 0)
        if n > 0:
            mates.append(
                asked.names.number(subject) if subject.startswith("a-") else f"{n} of {asked.names.number(subject)}"
            )
    return ", ".join(mates)


def _unit_now(asked: _Asked, story: Story | None) -> dict[str, str]:
    moment = at(story.moments, asked.asof.on) if story else None
    if story is None or moment is None:
        return {"unit_mfu": "", "unit_range": ""}
    changing = sum(c.n for c in asked.told.changes if c.stage == UNDER_WAY and c.subject in moment.present)
    held = asked.ranges.held(
        asked.told.units, story.unit, story.taxon, moment.home, moment.present, asked.asof.on, changing
    )
    return {"unit_mfu": held.mfu, "unit_range": held.range}


def _brood(asked: _Asked, change: Change) -> tuple[date, str] | None:
    """The first brood that began on or after the completion with the animal as the parent its new sex is."""
    done = change.completed
    role = {"male": "sire", "female": "dam"}.get(change.step.to, "")
    broods = asked.broods.get((change.subject, role), ()) if done else ()
    return next(((day, code) for day, code in broods if done and day >= done.days.low), None)


# --- figures -----------------------------------------------------------------------------------------------


def _replaced(copy: Copy, asof: AsOf) -> dict[int, list[str]]:
    """By first entry of a line of corrections: what was corrected, in words."""
    out: dict[int, list[str]] = {}
    for effect in effects(copy, asof.known):
        if effect.effect == REPLACES:
            moved = f", figures from {effect.figures_from} replaced" if effect.figures_from else ", no figure moved"
            out.setdefault(effect.root, []).append(f"corrected by #{effect.seq} on {effect.recorded[:10]}{moved}")
    return out


def _restated(asked: _Asked, change: Change) -> str:
    done = change.completed
    first = f"re-classed on {done.days.high}, nothing before it moves" if done else "no figure moves"
    roots = dict.fromkeys(s.root for s in (change.sign, change.end) if s)
    return "; ".join([first, *(text for root in roots for text in asked.replaced.get(root, ()))])


def _days(name: str, days: Days | None) -> dict[str, Any]:
    low = days.low if days and days.low > date.min else None
    return {name: _range(days) if days else "", f"{name}_low": low, f"{name}_high": days.high if days else None}


def _between(name: str, a: Days | None, z: Days | None, *, floor: bool = False) -> dict[str, Any]:
    """Days from `a` to `z`; an open start leaves that end of the range empty."""
    if a is None or z is None:
        return {name: "", f"{name}_low": None, f"{name}_high": None}
    low = (z.low - a.high).days if z.low > date.min else None
    high = (z.high - a.low).days if a.low > date.min else None
    if floor and low is not None:
        low = max(0, low)
    text = (
        f"{low}"
        if low == high and low is not None
        else f"{'?' if low is None else low}–{'?' if high is None else high}"
    )
    return {name: text, f"{name}_low": low, f"{name}_high": high}
