"""Corrections: what was superseded or struck out in a time of recording, by whom, when, why, and what it moved.

Definition. A row is one event recorded in the time (days of the book's calendar, both inside) that superseded
another. It is told apart by its reason: *slip* (mended by the same hand on the same day), *mistake*, *merged
records*. What was *learnt* (only fields left empty or not determined are filled, and no figure moves) completes an
entry and corrects nothing: it is in `completed`, and never in `corrections`. A wrong animal or a wrong kind is
struck out and entered anew in one batch; the row names the new entry. A correction that was itself corrected is a
row, as is the later one.

What it moved are the journal lines posted because of it, summed by day and place: `Tank 1 −1 from 2025-03-03`. A
line counts from its day on for ever, so that is the change of every later figure of that place; `moved` is the sum
over the basis. What moved only between places of the basis sums to zero and is still named.

Columns: `recorded` (UTC), `by` (person), `done` (corrected, completed, struck out), `reason`, `why` (in words),
`kind` and `what` (number or name) of the entry, `days` (as it says now, EDTF; of one struck out, as it said),
`changed` (field: before → after; of a number or code typed anew, the old one and the new), `anew` (positions of the
entries made in its place), `moved` (animals of the basis, signed), `moved_words`, `event` (its position),
`superseded` (position of what stood until then).

Source: the design of the book, §3: nothing is changed or deleted; a mistake is put right by a further event.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, time, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

import orjson
import polars as pl

from ledger.read import Copy, Correction, Names
from ledger.read.numbers import GIVING
from ledger.read.things import MAKING
from ledger.words import LOST
from reports.common import UNDERWAY, Basis, Period
from reports.papers import called, id_of

LEARNT: Final = "learnt"
SCHEMA: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("recorded", "by", "done", "reason", "why", "kind", "what", "days", "changed", "anew"), pl.String),
    "moved": pl.Int64,
    "moved_words": pl.String,
    "event": pl.Int64,
    "superseded": pl.Int64,
}
_WHOM: Final = ("animal", "lot", "into", "new", "a", "by", "brood")
_ABOUT: Final = (*_WHOM, "enclosure", "taxon", "permit", "agreement", "party", "unit")
_NUMBERED: Final = ("a-", "g-")
_MOST: Final = 6  # places named in one row; the rest are counted


def corrections(copy: Copy, names: Names, recorded: Period, known: int, basis: Basis) -> pl.DataFrame:
    """Corrections recorded on the days of `recorded`, as known at `known`; what was learnt is not among them."""
    return _rows(copy, names, recorded, known, basis, learnt=False)


def completed(copy: Copy, names: Names, recorded: Period, known: int, basis: Basis) -> pl.DataFrame:
    """Entries completed by what was learnt on the days of `recorded`: the same columns; `moved` is 0."""
    return _rows(copy, names, recorded, known, basis, learnt=True)


def _rows(copy: Copy, names: Names, recorded: Period, known: int, basis: Basis, *, learnt: bool) -> pl.DataFrame:
    found = copy.corrections(*_instants(recorded, names.zone), known)
    found = [c for c in found if (c.reason == LEARNT) == learnt]
    mates = _entered(copy, found)
    moved = _moved(copy, names, [c.seq for c in found], known, basis)
    rows = [_row(copy, names, c, mates, moved.get(c.seq, (0, ""))) for c in found]
    return pl.DataFrame(rows, schema=SCHEMA)


def _instants(days: Period, zone: str) -> tuple[str, str]:
    """The first and last instant of days in a time zone, as the log writes them."""
    here = ZoneInfo(zone)
    first = datetime.combine(days.first, time(), here).astimezone(UTC)
    end = datetime.combine(days.last + timedelta(days=1), time(), here).astimezone(UTC) - timedelta(microseconds=1)
    return first.strftime("%Y-%m-%dT%H:%M:%S.%fZ"), end.strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _row(
    copy: Copy,
    names: Names,
    one: Correction,
    mates: Mapping[int, list[tuple[int, str, dict[str, Any]]]],
    moved: tuple[int, str],
) -> dict[str, Any]:
    struck = one.kind == "void"
    anew = [seq for seq, kind, payload in mates.get(one.known_from, []) if struck and _instead(one, kind, payload)]
    return {
        "recorded": one.recorded,
        "by": names.label(one.actor),
        "done": "struck out" if struck else "completed" if one.reason == LEARNT else "corrected",
        "reason": one.reason.replace("_", " "),
        "why": copy.text({"commit": one.words}) if one.words else "",
        "kind": one.was_kind.replace("_", " "),
        "what": _what(names, one.was_payload),
        "days": one.was_edtf if struck else one.edtf,
        "changed": "" if struck else _changed(copy, names, one),
        "anew": ", ".join(f"#{seq}" for seq in anew),
        "moved": moved[0],
        "moved_words": moved[1],
        "event": one.seq,
        "superseded": one.was,
    }


def _what(names: Names, payload: Mapping[str, Any]) -> str:
    """What the entry is about: the first thing it names."""
    return next((_said(names, payload[field]) for field in _ABOUT if payload.get(field)), "")


def _said(names: Names, value: Any) -> str:
    """A value of a payload in words: a number, a name, counts as `{m: 2}`, yes."""
    if isinstance(value, list):
        return ", ".join(_said(names, each) for each in value)
    if not isinstance(value, dict):
        return "yes" if value is True else str(value).replace("_", " ")
    named = id_of(value)
    if not named:
        return " ".join(str(n) if key == "n" else f"{n} {key}" for key, n in value.items())
    label = names.number(named) if named.startswith(_NUMBERED) else names.label(named)
    return label if label != named else called(value)  # of what was struck out the book has no name left


def _changed(copy: Copy, names: Names, one: Correction) -> str:
    """Fields that say otherwise than before: `cause: not determined → parasites`."""
    said = [f"date: {one.was_edtf} → {one.edtf}"] if one.was_edtf != one.edtf else []
    for field in dict.fromkeys([*one.was_payload, *one.payload]):
        before, after = one.was_payload.get(field), one.payload.get(field)
        if before == after:
            continue
        words = [_free(copy, v) if isinstance(v, dict) and "commit" in v else _said(names, v) for v in (before, after)]
        if id_of(before) and id_of(before) == id_of(after) and field in _giving(one.was_kind):
            words = [called(before), called(after)]  # the same thing under another number or code
        told = [word if value is not None else "empty" for word, value in zip(words, (before, after), strict=True)]
        if told[0] != told[1]:
            said.append(f"{field.replace('_', ' ')}: {told[0]} → {told[1]}")
    return "; ".join(said)


def _giving(kind: str) -> tuple[str, ...]:
    """Fields by which entries of a kind give a number or a code for the first time."""
    if kind in MAKING:
        return MAKING[kind][:1]
    if kind in ("split", "draw"):
        return ("new",)
    return ("animal", "lot") if kind in GIVING else ()


def _free(copy: Copy, value: dict[str, Any]) -> str:
    return f"“{copy.text(value)}”" if copy.text(value) else "text that was erased"


def _entered(copy: Copy, found: Sequence[Correction]) -> dict[int, list[tuple[int, str, dict[str, Any]]]]:
    """End of a batch -> its new entries: position, kind, payload."""
    out: dict[int, list[tuple[int, str, dict[str, Any]]]] = defaultdict(list)
    for end, seq, kind, payload in copy.entered([c.known_from for c in found if c.kind == "void"]).iter_rows():
        out[end].append((seq, kind, orjson.loads(payload)))
    return out


def _instead(one: Correction, kind: str, payload: Mapping[str, Any]) -> bool:
    """Whether a new entry of the batch stands for the one struck out: of the same kind, or about the same."""
    about = {id_of(one.was_payload.get(field)) for field in ("animal", "lot", "into")} - {""}
    return kind == one.was_kind or bool(about & {id_of(payload.get(field)) for field in ("animal", "lot", "into")})


def _moved(copy: Copy, names: Names, events: Sequence[int], known: int, basis: Basis) -> dict[int, tuple[int, str]]:
    """Correction -> the change of the basis, and of each place from its day on, in words."""
    lines = copy.because(events, known)
    live = pl.col("place").str.contains("^[eo]-") | pl.col("place").is_in(["in_transit", *LOST])
    sums = dict(lines.filter(basis.counts).group_by("because").agg(pl.col("delta").sum()).iter_rows())
    placed = (
        lines.filter(live)
        .group_by("because", "counts_on", "place", "sex")
        .agg(pl.col("delta").sum())
        .filter(pl.col("delta") != 0)
        .sort("because", "counts_on", "place", "sex")
    )
    said: dict[int, list[str]] = defaultdict(list)
    for because, day, place, sex, delta in placed.iter_rows():
        where = UNDERWAY if place == "in_transit" else names.label(place)
        who = "" if sex == "unknown" else f" {sex}"
        said[because].append(f"{where} {'+' if delta > 0 else '−'}{abs(delta)}{who} from {day}")
    return {
        event: (
            int(sums.get(event, 0)),
            "; ".join(
                [*said[event][:_MOST], *([f"and {len(said[event]) - _MOST} more"] if len(said[event]) > _MOST else [])]
            ),
        )
        for event in events
    }
