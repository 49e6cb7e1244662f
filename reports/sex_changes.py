"""Sex changes as reports see them: from the first sign to how it ended, each a row, lots in parts.

Definition. A change begins with its first sign and ends with its completion, with the entry that it was given up,
or not at all. A later stage belongs to the sign it names (`of`); else, of an animal, to its newest sign that is
still open, of a lot to its oldest. What was completed without a sign is a change of its own. A change whose animal
is in no enclosure of the book on the day (and not on the way) has *gone before completion*. Only a completed
change moves an animal between columns (definition D23 of the design); its days are those of the journal, which may
be narrower than those of the entry.

Source: definition D24 of the design; that a lot's oldest sign is completed first is derived (nobody can tell).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final, NamedTuple

from ledger.read import AsOf, Copy
from ledger.words import IN_TRANSIT, SEX_OF
from reports.papers import id_of
from reports.units import Days, Units

UNDER_WAY, COMPLETED, GIVEN_UP, GONE = "under way", "completed", "given up", "gone before completion"
STAGES: Final = (UNDER_WAY, COMPLETED, GIVEN_UP, GONE)


class Step(NamedTuple):
    """One entry about a sex change. `of`, `opened_by`: roots of the events it names, 0 where none."""

    root: int
    seq: int
    stage: str
    subject: str
    was: str
    to: str
    n: int
    days: Days
    evidence: str
    of: int
    opened_by: int


@dataclass(frozen=True)
class Change:
    """A change of `n` animals of a subject (1 of an animal). `end`: its completion, or that it was given up."""

    subject: str
    n: int
    sign: Step | None
    end: Step | None
    gone: date | None = None

    @property
    def stage(self) -> str:
        """One of STAGES."""
        if self.end is not None:
            return COMPLETED if self.end.stage == "completed" else GIVEN_UP
        return UNDER_WAY if self.gone is None else GONE

    @property
    def step(self) -> Step:
        """Its first entry."""
        first = self.sign or self.end
        assert first is not None
        return first

    @property
    def completed(self) -> Step | None:
        """Its completion."""
        return self.end if self.stage == COMPLETED else None

    @property
    def key(self) -> tuple[int, int]:
        """What tells it from every other change: roots of its first and its last entry."""
        return self.step.root, self.end.root if self.end else 0

    @property
    def opened_by(self) -> int:
        """The event of the loss that opened the place, as recorded; 0 where nobody said."""
        return self.step.opened_by or (self.end.opened_by if self.end else 0)


def changes(copy: Copy, asof: AsOf, units: Units) -> list[Change]:
    """All changes up to the day, as known, by their first entry. `units` holds the stands of their subjects."""
    told = _told(steps(copy, asof.known, units), asof.on)
    return sorted((_gone(c, units, asof.on) for c in told), key=lambda c: (c.step.days.high, *c.key))


def subjects(copy: Copy, known: int) -> set[str]:
    """Animals and lots that a sex change was recorded of."""
    found = copy.standing(("sex_change",), known)
    return {id_of(e.payload.get("animal")) or id_of(e.payload.get("lot")) for e in found}


def steps(copy: Copy, known: int, units: Units) -> list[Step]:
    """The entries, in the order of the days they count on."""
    ids = copy.ids()
    counted = _counted(units)
    out = []
    for event in copy.standing(("sex_change",), known):
        p = event.payload
        subject = id_of(p.get("animal")) or id_of(p.get("lot"))
        amount = {SEX_OF.get(k, k): int(v) for k, v in (p.get("how_many") or {}).items() if v}
        was = str(p.get("was") or "") or (next(iter(amount)) if len(amount) == 1 else "")
        days = counted.get((event.root, subject)) or Days(event.first or date.min, event.last)
        named = [ids.get(str(p.get(field) or ""), 0) for field in ("of", "opened_by")]
        evidence = str(p.get("evidence") or "")
        n = sum(amount.values()) or 1
        out.append(Step(event.root, event.seq, p["stage"], subject, was, p["to"], n, days, evidence, *named))
    return sorted(out, key=lambda s: (s.days.high, s.stage != "first_sign", s.root))


def _counted(units: Units) -> dict[tuple[int, str], Days]:
    """Days of completions as the journal has them, by event and subject."""
    out = {
        (root, subject): Days(row["since_possible"], row["since"])
        for subject, rows in units.stands.items()
        for row in rows
        if row["since_reason"] == "sex_changed"
        for root in row["since_events"]
    }
    for lot, lines in units.steps.items():
        out |= {
            (line["effect"], lot): Days(line["could_from"], line["counts_on"])
            for line in lines
            if line["reason"] == "sex_changed"
        }
    return out


def _told(told: Sequence[Step], on: date) -> list[Change]:
    """Signs and ends put together, by subject."""
    open_signs: dict[str, list[Change]] = defaultdict(list)
    done: list[Change] = []
    for step in told:
        if step.days.high > on:
            continue
        waiting = open_signs[step.subject]
        if step.stage == "first_sign":
            waiting.append(Change(step.subject, step.n, step, None))
            continue
        left = step.n
        for change in list(_meant(waiting, step)):
            taken = min(left, change.n)
            if taken:
                done.append(replace(change, n=taken, end=step))
                where = waiting.index(change)
                waiting[where : where + 1] = [replace(change, n=change.n - taken)] if change.n > taken else []
                left -= taken
        if left:
            done.append(Change(step.subject, left, None, step))
    return done + [change for waiting in open_signs.values() for change in waiting]


def _meant(waiting: Sequence[Change], step: Step) -> Iterator[Change]:
    """The open signs that a later stage may belong to, in the order it takes them."""
    if step.of:
        return (c for c in waiting if c.step.root == step.of)
    alike = [c for c in waiting if c.step.to == step.to]
    return iter(reversed(alike)) if step.subject.startswith("a-") else iter(alike)


def _gone(change: Change, units: Units, on: date) -> Change:
    """The change, with the day its animals went, where it had not ended and they are not there."""
    rows = [r for r in units.stands.get(change.subject, ()) if r["place"].startswith("e-") or r["place"] == IN_TRANSIT]
    if change.end is not None or any(_here(row, on) for row in rows):
        return change
    went = max((r["until"] for r in rows if r["until"] is not None and r["until"] <= on), default=change.step.days.high)
    return replace(change, gone=went)


def _here(row: Mapping[str, Any], day: date) -> bool:
    return bool(row["since"] <= day and (row["until"] is None or day < row["until"]))
