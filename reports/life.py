"""The whole story of one animal or lot: dated lines by topic, each with the entries it rests on.

Definition. Everything the log says of one subject by the close of a day, as known at a position: places, holders,
owners, standings, sexes and taxa from the journal (`life_stays`), everything else from the entries that stand
(`life_told`, `life_together`). Every entry that names the subject stands behind at least one line; what no topic takes
is under *further entries*. What came out of another number (drawn, parted, merged in) has the story of that number up
to that day, with the number in `through`; and of the numbers that one came out of, and so on.

Columns of `lines`: as in `life_lines`; of `card`: as in `life_card`; of `balances` (of lots; empty else): `life_stays`.

Source: the design §7 (*everything about one animal*); eight items of the card: 16 USC 1374(c)(10), text seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import polars as pl

from ledger.read import AsOf, Copy, Names, Written
from reports.life_card import card
from reports.life_lines import Line, Telling, frame, named, naming, newest, steps_of
from reports.life_stays import BALANCES, balances, stays
from reports.life_together import broods_named, mates_named, together_lines
from reports.life_told import further, told_lines
from reports.papers import id_of

_DATED_ELSEWHERE = ("count", "sexing", "redetermination")  # their lines may count on other days than the entry's own


@dataclass(frozen=True)
class Life:
    """The story of a subject as of `asof`: `number` as it bears it, its frames, and the lots it came through."""

    subject: str
    number: str
    asof: AsOf
    lines: pl.DataFrame
    card: pl.DataFrame
    balances: pl.DataFrame
    through: tuple[str, ...]

    @property
    def days(self) -> int:
        """Closes of days, by the day asked about, on which an animal stood in an enclosure of a member house."""
        own = self.lines.filter(
            (pl.col("topic") == "place") & (pl.col("through") == "") & pl.col("ref").str.starts_with("e-")
        )
        return int(own["days"].sum())

    @property
    def events(self) -> list[int]:
        """All entries the lines rest on, by position."""
        return sorted({root for roots in self.lines["events"] for root in roots})


def life(copy: Copy, names: Names, asof: AsOf, subject: str) -> Life:
    """The story of the animal or lot of that id. An id of which nothing is known by then has no lines."""
    told = telling(copy, names, asof, subject)
    lines, sources = _whole(told, {subject})
    return Life(
        subject,
        names.number(subject),
        asof,
        frame(lines),
        card(told, lines, sources),
        balances(told) if subject.startswith("g-") else pl.DataFrame(schema=BALANCES),
        tuple(dict.fromkeys(line.through for line in lines if line.through)),
    )


def telling(copy: Copy, names: Names, asof: AsOf, subject: str) -> Telling:
    """What a life is told from: the entries and journal lines of one subject, read by its id alone."""
    written = copy.story([subject], asof.known)
    broods, mates = broods_named(written, subject), mates_named(written, subject)
    if broods or mates:
        more = {event.seq: event for event in (*written, *copy.story([*broods, *mates], asof.known))}
        written = [more[seq] for seq in sorted(more)]
    lines = copy.story_lines([subject, *mates], [event.known_from for event in written], asof.known)
    steps = steps_of(lines, subject, date.max)
    counted = {step.effect: step.day for step in steps}
    wanted = {subject, *broods}
    entries = {
        root: _narrowed(event, counted.get(root))
        for root, event in newest(written).items()
        if not wanted.isdisjoint(named(event.payload))
    }
    stands = {root: event for root, event in entries.items() if event.last <= asof.on}
    return Telling(
        *(copy, names, asof, subject, stands),
        tuple(step for step in steps if step.day <= asof.on),
        naming(stands.values(), subject),
        {mate: steps_of(lines, mate, asof.on) for mate in mates},
    )


def _narrowed(event: Written, counts_on: date | None) -> Written:
    """An entry that other entries prove to have happened earlier than it says stands on the day it counts."""
    if counts_on is None or counts_on >= event.last or event.kind in _DATED_ELSEWHERE:
        return event
    return event._replace(last=counts_on, first=min(event.first, counts_on) if event.first else None)


def _whole(told: Telling, seen: set[str]) -> tuple[list[Line], list[Telling]]:
    """Lines of a subject and of what it came through, and the tellings of the latter, nearest first."""
    lines = [*stays(told), *told_lines(told), *together_lines(told)]
    lines += further(told, lines)
    sources: list[Telling] = []
    for source, day in _sources(told):
        if source in seen:
            continue
        seen.add(source)
        there = telling(told.copy, told.names, AsOf(min(day, told.on), told.asof.known), source)
        theirs, deeper = _whole(there, seen)
        number = told.names.number(source)
        lines += [_up_to(line, number, day) for line in theirs]
        sources += [there, *deeper]
    return lines, sources


def _up_to(line: Line, number: str, day: date) -> Line:
    """A line of a lot as it stands in the story of what left it on a day."""
    line = line._replace(through=line.through or number)
    if line.days is None or line.until is not None:
        return line
    return line._replace(days=max(0, line.days - 1), until=day, until_possible=day)


def _sources(told: Telling) -> Iterator[tuple[str, date]]:
    """The numbers its animals came out of, with the day."""
    for event, where in told.own:
        taker = {"draw": "new", "split": "new", "merge": "into"}.get(event.kind)
        if taker in where:
            yield id_of(event.payload["lot"]), event.last
