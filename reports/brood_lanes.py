"""The clutches of one dam on the lanes of those that carried them, ready to be drawn: how far they overlapped.

One row a brood and spell of care, in two phases: `eggs` from the day the carrier had them to the first young, the
spell's end, the brood's end or the day asked about, whichever came first; `young` from the first young to their day
30 or the day asked about. Of several carers of one brood the young stand with the last.

Columns: `carrier` (number, or *no carrier named*), `brood`, `phase`, `begin`, `until` (dates; until at least a day
later, so that it can be seen), `words` (what came of it; on the phase that comes last), `ended` (why the spell ended).
`at_once`: the most of her broods that were in care, eggs not hatched and not over, at the close of one day.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import spoken
from ledger.read import Names
from reports.carers import Care
from reports.clutches import LOST, Clutch
from reports.hatch import called
from reports.young import LIMIT

NO_CARRIER: Final = "no carrier named"
SCHEMA: Final[dict[str, Any]] = {
    **dict.fromkeys(("carrier", "brood", "phase"), pl.String),
    "begin": pl.Date,
    "until": pl.Date,
    "words": pl.String,
    "ended": pl.String,
}


class Lanes(NamedTuple):
    """Rows to draw, and the sentence that says what they show."""

    rows: pl.DataFrame
    finding: str


def busiest(found: Sequence[Clutch]) -> str:
    """The dam with the most of her broods in care at once, then the most broods; "" where no dam is settled."""
    dams = Counter(c.dam for c in found if c.dam)
    if not dams:
        return ""
    return max(dams, key=lambda d: (at_once([c for c in found if c.dam == d])[0], dams[d], d))


def at_once(found: Sequence[Clutch]) -> tuple[int, date | None]:
    """The most broods in care at the close of one day, and the first such day."""
    changes: Counter[date] = Counter()
    for one in found:
        until = _until(one)
        if until > one.start:
            changes[one.start] += 1
            changes[until] -= 1
    most, first, now = 0, None, 0
    for day in sorted(changes):
        now += changes[day]
        if now > most:
            most, first = now, day
    return most, first


def _until(one: Clutch) -> date:
    """The first day its eggs were no longer in care; the day after the one asked about where they are."""
    ends = [one.on + timedelta(days=1), *([one.first_young[1]] if one.first_young else [])]
    return min([*ends, *([one.ended] if one.ended else [])])


def lanes(found: Sequence[Clutch], dam: str, names: Names, house: str = "") -> Lanes:
    """The broods of `dam` (an id) among those found, by start."""
    hers = [c for c in found if c.dam == dam]
    rows = [row for one in hers for row in _of_brood(one, names, house)]
    frame = pl.DataFrame([[row[k] for k in SCHEMA] for row in rows], schema=SCHEMA, orient="row")
    return Lanes(frame, _finding(hers, frame, called(dam, names, house)))


def _of_brood(one: Clutch, names: Names, house: str) -> list[dict[str, Any]]:
    cares = [c for c in one.cares if not c.role] or [Care("", one.start, None, "")]
    rows = []
    for care in cares:
        until = min(_until(one), care.until or _until(one))
        rows.append(_row(one, care, names, house) | {"phase": "eggs", "begin": care.since, "until": until})
    if one.first_young is not None and one.hatched:
        begin = one.first_young[1]
        until = min(begin + timedelta(days=LIMIT), one.on + timedelta(days=1))
        rows.append(_row(one, cares[-1], names, house) | {"phase": "young", "begin": begin, "until": until})
    rows[-1]["words"] = _words(one)
    for row in rows:
        row["until"] = max(row["until"], row["begin"] + timedelta(days=1))
    return rows


def _row(one: Clutch, care: Care, names: Names, house: str) -> dict[str, Any]:
    carrier = called(care.carer, names, house)
    return {"carrier": carrier if care.carer else NO_CARRIER, "brood": one.code, "ended": care.why, "words": ""}


def _words(one: Clutch) -> str:
    eggs = one.entries.eggs
    said = [one.code, *([f"{eggs} egg{'s' * (eggs != 1)}"] if eggs is not None else [])]
    if one.state == LOST:
        said.append("carrier lost")
    elif one.first_young is not None:
        said.append(f"{one.hatched} young")
    else:
        said.append(one.state)
    return " · ".join(said)


def _finding(hers: Sequence[Clutch], frame: pl.DataFrame, dam: str) -> str:
    if not hers:
        return f"No clutch of {dam} by that day."
    carriers = [c for c in frame["carrier"].unique(maintain_order=True) if c != NO_CARRIER]
    most, day = at_once(hers)
    count = f"{len(hers)} clutch{'es' * (len(hers) != 1)}"
    whom = f", carried by {len(carriers)} ({', '.join(carriers)})" if carriers else ""
    live = sum(c.hatched for c in hers)
    overlap = f" At most {most} were in care at once, first on {spoken(day)}." if day and most > 1 else ""
    return f"{dam} laid {count} from {spoken(hers[0].start)} on{whom}; {live} young.{overlap}"
