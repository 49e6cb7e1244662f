"""What the parts of a life share: its lines and their topics, what stands of the entries behind it, entries in words.

Columns of a life (`SCHEMA`): `topic` (a key of `TOPICS`), `since` (the day from which it counts; null: open),
`since_possible` (the first day it can have been; null: open start), `until` (the first day on which it was no longer
so; null: it is so on the day asked about, or is no state), `until_possible`, `days` (closes on which it was so, by
the day asked about; null for what is no state), `what`, `about` (words), `ref` (id of the place, party, mate, brood or
taxon it is about; else empty), `through` (number of the lot in whose story it stands; empty: its own), `events`
(positions of the entries it rests on: of each the first of its line of corrections).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import DateRefused, Day, parse
from ledger.read import AsOf, Copy, Names, Written
from ledger.words import IN_TRANSIT, LOST
from reports.common import mfu
from reports.papers import id_of

TOPICS: Final = {
    "origin": "Origin",
    "parents": "Parents",
    "mark": "Numbers, names and marks",
    "taxon": "Determinations",
    "sex": "Sex",
    "place": "Enclosures",
    "holder": "Holders",
    "owner": "Owners",
    "standing": "Standing",
    "transfer": "Transfers and titles",
    "size": "Sizes",
    "rank": "Rank",
    "mate": "Mates",
    "courtship": "Courtship",
    "brood": "Broods",
    "young": "Young",
    "company": "Associations",
    "passed": "In and out of other numbers",
    "loss": "Losses and returns",
    "count": "Counts",
    "sighting": "Sightings",
    "note": "Notes",
    "end": "End",
    "remains": "Remains",
    "further": "Further entries",
}
SCHEMA: Final[Mapping[str, Any]] = {
    "topic": pl.String,
    **dict.fromkeys(("since", "since_possible", "until", "until_possible"), pl.Date),
    "days": pl.Int64,
    **dict.fromkeys(("what", "about", "ref", "through"), pl.String),
    "events": pl.List(pl.Int64),
}
NUMBERED: Final = ("a-", "g-")
UNSAID: Final = frozenset({"holder", "addition", "code", "was", "count_day", "animal", "lot", "note"})
_LETTERS: Final = frozenset("mfuhn")
_EVENT_ID: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_WORD: Final = re.compile(r"[a-z]+(_[a-z0-9]+)+")


class Line(NamedTuple):
    """One line of a life, as in the columns."""

    topic: str
    since: date | None
    since_possible: date | None
    until: date | None
    until_possible: date | None
    days: int | None
    what: str
    about: str
    ref: str
    through: str
    events: tuple[int, ...]

    @property
    def key(self) -> tuple[int, date, int]:
        """Its place in a life: by topic, then by day, then by entry."""
        return (ORDER[self.topic], self.since or date.min, min(self.events, default=0))


ORDER: Final = {topic: place for place, topic in enumerate(TOPICS)}


def frame(lines: Iterable[Line]) -> pl.DataFrame:
    """Lines in order, in the columns above."""
    rows = [(*line[:-1], list(line.events)) for line in sorted(lines, key=lambda line: line.key)]
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def fact(topic: str, event: Written, what: str, about: str = "", ref: str = "") -> Line:
    """A line about one entry, on its own days."""
    return Line(topic, event.last, event.first, None, None, None, what, about, ref, "", (event.root,))


def spell(
    topic: str, event: Written, since: Any, until: date | None, on: date, what: str, about: str = "", ref: str = ""
) -> Line:
    """A line of what lasts: from `since` (EDTF, where the entry says it), else from the days of the entry."""
    first, last = days_of(since) if since else (event.first, event.last)
    begun = last or event.last
    ended = until if until is not None and until <= on else None
    days = max(0, ((ended or on).toordinal() + (ended is None)) - begun.toordinal())
    return Line(topic, begun, first, ended, ended, days, what, about, ref, "", (event.root,))


def days_of(text: Any) -> tuple[date | None, date | None]:
    """First and last possible day of an EDTF text; None where that end is open, or it is none."""
    try:
        value = parse(str(text))
    except DateRefused:
        return None, None
    ends = [date(*end) if isinstance(end, Day) else None for end in (value.first, value.last)]
    return ends[0], ends[1]


def steps_of(lines: pl.DataFrame, subject: str, on: date) -> tuple[Step, ...]:
    """The legs of one subject that count by a day, net of what cancels, by day and entry."""
    sums: Counter[tuple[Any, ...]] = Counter()
    for row in lines.iter_rows():
        if row[1] == subject and row[2] <= on:
            sums[row[:-1]] += row[-1]
    return tuple(Step._make((*leg, n)) for leg, n in sorted(sums.items(), key=_in_order) if n)


def _in_order(item: tuple[tuple[Any, ...], int]) -> tuple[Any, ...]:
    leg = item[0]
    return (leg[2], leg[0], *leg[3:])


def newest(written: Iterable[Written]) -> dict[int, Written]:
    """Of each line of corrections the newest, unless it strikes the line out: root -> event."""
    found: dict[int, Written] = {}
    for event in written:  # by position
        found[event.root] = event
    return {root: event for root, event in found.items() if event.kind != "void"}


def naming(entries: Iterable[Written], subject: str) -> tuple[tuple[Written, set[str]], ...]:
    """Entries that name a subject, with the places in which each does."""
    found = ((event, set(roles(event.payload, subject))) for event in entries)
    return tuple((event, where) for event, where in found if where)


def roles(payload: Any, subject: str, at: str = "") -> Iterator[str]:
    """Where a payload names a subject: `animal`, `with`, `parents.dam`."""
    if isinstance(payload, list):
        for part in payload:
            yield from roles(part, subject, at)
    elif isinstance(payload, dict):
        if payload.get("id") == subject:
            yield at
        for key, part in payload.items():
            if isinstance(part, dict | list):
                yield from roles(part, subject, f"{at}.{key}" if at else key)


def named(value: Any, prefix: str = "") -> Iterator[str]:
    """Ids of everything a value names, however deep, whose id begins so."""
    if isinstance(value, list):
        for part in value:
            yield from named(part, prefix)
    elif isinstance(value, dict):
        if (found := id_of(value)).startswith(prefix) and found:
            yield found
        for part in value.values():
            if isinstance(part, dict | list):
                yield from named(part, prefix)


def amount(value: Any) -> str:
    """How many in words: `2.3.1`, `5`."""
    if not isinstance(value, dict):
        return ""
    if "n" in value:
        return f"{value['n']:,}"
    return mfu(*(int(value.get(letter, 0)) for letter in "mfuh"))


class Step(NamedTuple):
    """One leg of a journal line, as `Copy.story_lines` has it."""

    effect: int
    subject: str
    day: date
    possible: date
    taxon: str
    sex: str
    place: str
    holder: str
    owner: str
    standing: str
    reason: str
    delta: int

    @property
    def inside(self) -> bool:
        """Of the animals a life follows."""
        return self.here or self.place in LOST

    @property
    def here(self) -> bool:
        """Held or owned by a member house: in an enclosure, on the way, or with a party and a member's own."""
        return (
            self.place.startswith("e-")
            or self.place == IN_TRANSIT
            or (self.place.startswith("o-") and self.owner.startswith("h-"))
        )


class Telling(NamedTuple):
    """What every part of a life is told from: whose, from which copy, as of when, by what names, what stands."""

    copy: Copy
    names: Names
    asof: AsOf
    subject: str
    entries: Mapping[int, Written]  # that stand and occurred by the day, by root; of the subject and of its broods
    steps: tuple[Step, ...]  # of the journal, that count by the day
    own: tuple[tuple[Written, set[str]], ...]  # entries that name the subject itself, and where each names it
    mates: Mapping[str, tuple[Step, ...]]  # the journal of those it was ever paired with

    @property
    def on(self) -> date:
        """The day asked about."""
        return self.asof.on

    def called(self, id_: str) -> str:
        """What an id is called: a subject by its number and its name, everything else as people say it."""
        if not id_.startswith(NUMBERED):
            return self.names.label(id_)
        return self.names.number(id_)

    def words(self, value: Any) -> str:
        """A value of a payload as it reads."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, list):
            return ", ".join(self.words(part) for part in value)
        if not isinstance(value, dict):
            text = str(value)
            if _EVENT_ID.fullmatch(text) and (seq := self.copy.position(text)):
                return f"#{seq}"
            return text.replace("_", " ") if _WORD.fullmatch(text) else text
        if "commit" in value:
            text = self.copy.text(value)
            return f"“{text}”" if text else "(text erased)"
        if id_ := id_of(value):
            known = self.called(id_)
            return known if known != id_ else str(value.get("as") or id_)
        if value and set(value) <= _LETTERS:
            return amount(value)
        return " ".join(f"{key.replace('_', ' ')} {self.words(part)}" for key, part in value.items())

    def text(self, value: Any) -> str:
        """A free text as it was written, without quotes; nothing where there is none, or it was erased."""
        return self.copy.text(value) if isinstance(value, dict) else str(value or "")

    def said(self, event: Written, *less: str) -> str:
        """The rest of an entry in one line: its fields but those of `less`, its note last, in quotes."""
        skip = UNSAID | set(less)
        payload = event.payload
        if payload.get("standing") == "collection" and event.kind != "standing_change":
            skip |= {"standing"}
        rest = [f"{key.replace('_', ' ')} {self.words(part)}" for key, part in payload.items() if key not in skip]
        note = [self.words(payload["note"])] if "note" in payload and "note" not in less else []
        return "; ".join([", ".join(rest), *note]) if rest else "".join(note)

    def note(self, event: Written) -> str:
        """The note of an entry in quotes, where it has one."""
        return self.words(event.payload["note"]) if "note" in event.payload else ""


def joined(*parts: str) -> str:
    """What there is of some words, with commas."""
    return ", ".join(part for part in parts if part)


def plain(word: Any) -> str:
    """A word of a closed list as people say it."""
    return str(word or "").replace("_", " ")


def closes(since: date, until: date | None, on: date) -> int:
    """Closes of days from `since` by `on` on which something stood that ended on `until`."""
    end = until.toordinal() if until is not None and until <= on else on.toordinal() + 1
    return max(0, end - since.toordinal())


def listed(words: Sequence[str], most: int = 6) -> str:
    """Some words in a row, the many counted."""
    return ", ".join([*words[:most], *([f"and {len(words) - most} more"] if len(words) > most else [])])
