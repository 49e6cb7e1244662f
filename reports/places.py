"""Open places of a social unit: who lost it its dominant sex, who took or filled the place, what is still open.

Definition. Every animal of the dominant sex that leaves a unit (death, transfer, escape, missing, move out, changed
away) opens a place, in a queue. In units with one place (all that are not many-male groups) it does so only where
none of that sex is left. The oldest open place is taken by a first sign of a change to that sex, and filled by an
adult of that sex that comes, is found to be of it, grows up, or completes a change. A place taken by a change
that is given up, or whose animal leaves the unit before it is completed, is open again, from the day of its loss.
In a unit with one place whoever fills it ends it, taken or not. Where some are born male, males of the first phase may
live under the one that dominates: then its leaving opens the place too, if the last order before ranked it highest of
the males, and a later order that has a male above all others fills it. A change that names the loss which opened its
place (`opened_by`) takes that one; every other match is *presumed*.

Order within a day: leavings, places given back, comings, first signs. An animal that passes from a lot to a number
of its own inside the unit neither leaves nor comes.

Source: definitions D26 and D27 of the design, derived; Shapiro 1981 (seen: one female changed for one male removed
from single- and multi-male groups) for the many-male rule.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final, NamedTuple

from reports.sex_changes import Change
from reports.unit_days import Flow, Moment
from reports.units import Days, Order

OPEN, TAKEN, FILLED = "open", "taken", "filled"
LEFT: Final = {
    "died": "death",
    "transfer_out": "transfer",
    "escaped": "escape",
    "missing": "missing",
    "released": "release",
    "re_housed": "moved out",
    "sex_changed": "sex change",
    "left_unit": "left the unit",
    "unit_moved": "stayed behind",
    "fed_out": "fed out",
    "passed_out": "passed to another number",
    "redetermined": "another taxon",
}
GROWN: Final = "grown"


class Loss(NamedTuple):
    """An animal of the dominant sex that left: `what` in words, the event, its possible days."""

    subject: str
    what: str
    event: int
    days: Days


@dataclass
class Place:
    """A place that a loss opened; `by` the subject that took or filled it, `arrival` where it came so."""

    loss: Loss
    state: str = OPEN
    by: str = ""
    arrival: bool = False
    change: Change | None = None


class Link(NamedTuple):
    """The loss that a change is set against; `recorded` where the entry names it, else presumed."""

    loss: Loss
    place: Place
    recorded: bool


@dataclass
class Walk:
    """What the days of a unit come to, for one sex."""

    sex: str
    many: bool
    places: list[Place] = field(default_factory=list)  # in the order of the losses
    holders: dict[str, int] = field(default_factory=dict)  # of the sex, adult, in the unit now
    since: dict[str, Days] = field(default_factory=dict)  # from when each of them
    had: bool = False  # whether there ever was one
    links: dict[tuple[int, int], list[Link]] = field(default_factory=lambda: defaultdict(list))  # by Change.key

    @property
    def waiting(self) -> list[Place]:
        """Open and taken places, oldest first."""
        return [p for p in self.places if p.state != FILLED]

    @property
    def open(self) -> list[Place]:
        """Open places, oldest first."""
        return [p for p in self.places if p.state == OPEN]


def walk(
    moments: Sequence[Moment],
    sex: str,
    changes: Sequence[Change],
    adult: Mapping[str, date],
    *,
    many: bool,
    orders: Sequence[Order] | None = None,
) -> Walk:
    """Walk a unit's days.

    `moments` hold every day of a stage of the changes, of `adult` and of the `orders`, which are given only where
    males of the first phase may live under the dominant one.
    """
    walked = Walk(sex, many)
    toward = [c for c in changes if c.step.to == sex]
    for moment in moments:
        flows = _flows(moment, sex, adult)
        count = sum(walked.holders.values())
        for flow in (f for f in flows if f.n < 0):
            count += flow.n
            opened = -flow.n if many else int(count == 0 or _led(walked, flow, orders or ()))
            loss = Loss(flow.subject, LEFT.get(flow.reason, "count"), flow.event, flow.days)
            walked.places += [Place(loss) for _ in range(opened)]
        _give_back(walked, moment)
        for flow in (f for f in flows if f.n > 0):
            _come(walked, flow, toward, first=count == 0 or orders is not None)
            count += flow.n
        for change in toward:
            if change.sign and change.sign.days.high == moment.day and change.subject in moment.present:
                _take(walked, change)
        _hold(walked, moment, flows, adult)
        _rise(walked, moment.day, orders or ())
    return walked


def _flows(moment: Moment, sex: str, adult: Mapping[str, date]) -> list[Flow]:
    """Comings and goings of adults of one sex on a day, by event; what only changed its number left out."""
    day = moment.day
    own = [f for f in moment.flows if f.sex == sex and (f.subject not in adult or adult[f.subject] < day)]
    own += [
        Flow(subject, sex, counts[sex], GROWN, 0, Days(day, day))
        for subject, counts in moment.present.items()
        if adult.get(subject) == day and counts.get(sex)
    ]
    passed: dict[str, Counter[int]] = {"passed_in": Counter(), "passed_out": Counter()}
    for flow in own:
        if flow.reason in passed:
            passed[flow.reason][flow.event] += abs(flow.n)
    both = passed["passed_in"] & passed["passed_out"]
    left = {way: Counter(both) for way in passed}
    out = []
    for flow in sorted(own, key=lambda f: (f.event, f.subject)):
        cut = min(abs(flow.n), left[flow.reason][flow.event]) if flow.reason in left else 0
        if cut:
            left[flow.reason][flow.event] -= cut
        if n := (flow.n - cut if flow.n > 0 else flow.n + cut):
            out.append(flow._replace(n=n))
    return out


def _led(walked: Walk, flow: Flow, orders: Sequence[Order]) -> bool:
    """Whether who leaves stood above all others of the sex in the last order before."""
    last = next((o for o in reversed(orders) if o.days.high < flow.days.low), None)
    own = last.rank(flow.subject) if last else None
    if last is None or own is None:
        return False
    return all(s == flow.subject or (last.rank(s) or own + 1) > own for s in walked.holders)


def _rise(walked: Walk, day: date, orders: Sequence[Order]) -> None:
    """An order of the day that has one of the sex above all others fills the place that waits."""
    for order in orders:
        top = order.ranks[0] if order.days.high == day else ()
        if len(top) == 1 and top[0] in walked.holders and walked.waiting:
            place = walked.waiting[0]
            place.state, place.by, place.change = FILLED, top[0], None


def _give_back(walked: Walk, moment: Moment) -> None:
    """Places of changes given up, or whose animals are no longer in the unit, are open again."""
    for place in walked.places:
        change = place.change
        if place.state != TAKEN or change is None:
            continue
        given_up = change.end is not None and change.completed is None and change.end.days.high <= moment.day
        if given_up or change.subject not in moment.present:
            place.state, place.by, place.change = OPEN, "", None


def _take(walked: Walk, change: Change) -> None:
    """A first sign takes as many open places as animals show it."""
    for _ in range(change.n):
        place = _pick(walked, change)
        if place is not None:
            place.state, place.by, place.change = TAKEN, change.subject, change
            _link(walked, change, place)


def _come(walked: Walk, flow: Flow, toward: Sequence[Change], *, first: bool) -> None:
    """Adults of the sex that come fill places: their own, if they took one by a change, else the oldest open."""
    own = [c for c in toward if c.completed and (c.subject, c.completed.root) == (flow.subject, flow.event)]
    kinds: list[Change | None] = [c for c in own for _ in range(c.n)]
    kinds = (kinds + [None] * flow.n)[: flow.n]
    for change in kinds if walked.many else kinds[:1]:
        held = [p for p in walked.waiting if change is not None and p.change == change]
        place = held[0] if held else _pick(walked, change)
        if not walked.many:
            place = next(iter(walked.waiting), None) if first else None
        if place is None:
            continue
        place.state, place.by, place.arrival, place.change = FILLED, flow.subject, change is None, change
        if change is not None and len(walked.links[change.key]) < change.n:
            _link(walked, change, place)


def _pick(walked: Walk, change: Change | None) -> Place | None:
    """The open place a change takes: the one it names, else the oldest."""
    named = [p for p in walked.open if change is not None and _named(p, change)]
    return next(iter(named or walked.open), None)


def _named(place: Place, change: Change) -> bool:
    return change.opened_by != 0 and place.loss.event == change.opened_by


def _link(walked: Walk, change: Change, place: Place) -> None:
    """Set a change against the loss it names, where it opened a place here, else against that of its place."""
    named = next((p.loss for p in walked.places if _named(p, change)), None)
    walked.links[change.key].append(Link(named or place.loss, place, named is not None))


def _hold(walked: Walk, moment: Moment, flows: Sequence[Flow], adult: Mapping[str, date]) -> None:
    """Who is of the sex at the close of the day, and since when."""
    now = {
        subject: counts[walked.sex]
        for subject, counts in moment.present.items()
        if counts.get(walked.sex) and adult.get(subject, moment.day) <= moment.day
    }
    came = {flow.subject: flow.days for flow in flows if flow.n > 0}
    walked.since = {s: walked.since.get(s) or came.get(s, Days(moment.day, moment.day)) for s in now}
    walked.holders, walked.had = now, walked.had or bool(now)
