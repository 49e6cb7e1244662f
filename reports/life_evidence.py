"""Behind the lines of a life: every entry they rest on, and every entry it took the place of, as each was written.

Definition. Of each line of corrections all entries recorded by the position, oldest first, whether they stand or not.
`late` is the civil date of recording (in the book's time zone) less the last possible day the entry names, in days:
0 for the same day, never below. A completion (*learnt*) is no correction.

Columns: `root` (position of the first entry of the line, as in `events` of a life), `seq` (its own position), `kind`,
`occurred` (EDTF, as written), `recorded` (UTC), `late` (days), `by` (who wrote, by code), `basis` (how the writer was
known), `seen_by` (codes), `source` (sort of source and its reference), `state` (*stands*, *superseded by #n*, *struck
out by #n*), `supersedes` (position of what it took the place of; null), `reason`, `why` (in the writer's words),
`changed` (field: before → after), `said` (the entry as it stood: every field), `accepted` (warnings accepted with it
and why).

Source: the design §7, the question of an auditor about one animal.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

import polars as pl

from ledger.read import AsOf, Copy, Names, Written
from reports.life_lines import Telling, plain

EVIDENCE: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("root", "seq"), pl.Int64),
    **dict.fromkeys(("kind", "occurred", "recorded"), pl.String),
    "late": pl.Int64,
    **dict.fromkeys(("by", "basis", "seen_by", "source", "state"), pl.String),
    "supersedes": pl.Int64,
    **dict.fromkeys(("reason", "why", "changed", "said", "accepted"), pl.String),
}


def evidence(copy: Copy, names: Names, asof: AsOf, roots: Sequence[int]) -> pl.DataFrame:
    """The entries of these lines of corrections (positions of their first), by line and position; columns as above."""
    lines: dict[int, list[Written]] = defaultdict(list)
    for event in copy.lines_of(roots, asof.known):
        lines[event.root].append(event)
    words = Telling(copy, names, asof, "", {}, (), (), {})
    zone = ZoneInfo(names.zone)
    rows = [row for root in sorted(lines) for row in _line(words, lines[root], zone)]
    return pl.DataFrame(rows, schema=EVIDENCE)


def _line(words: Telling, events: Sequence[Written], zone: ZoneInfo) -> Iterator[dict[str, Any]]:
    for place, event in enumerate(events):
        before = events[place - 1] if place else None
        after = events[place + 1] if place + 1 < len(events) else None
        envelope = words.copy.envelope(event.seq)
        source = envelope.get("source") or {}
        yield {
            "root": event.root,
            "seq": event.seq,
            "kind": plain(event.kind),
            "occurred": event.edtf,
            "recorded": event.recorded,
            "late": _late(event, zone),
            "by": words.names.label(event.actor),
            "basis": str(envelope.get("basis") or ""),
            "seen_by": ", ".join(words.names.label(person) for person in envelope.get("observed_by") or ()),
            "source": ": ".join(filter(None, (plain(source.get("kind")), _text(words, source.get("ref"))))),
            "state": _state(event, after),
            "supersedes": before.seq if before else None,
            "reason": plain(event.reason),
            "why": words.copy.text({"commit": event.words}) if event.words else "",
            "changed": changed(words, before, event) if before is not None and event.kind != "void" else "",
            "said": said(words, event),
            "accepted": "; ".join(_accepted(words, envelope)),
        }


def _late(event: Written, zone: ZoneInfo) -> int:
    recorded = datetime.fromisoformat(event.recorded).replace(tzinfo=UTC).astimezone(zone).date()
    return max(0, (recorded - event.last).days)


def _state(event: Written, after: Written | None) -> str:
    if after is None:
        return "strikes it out" if event.kind == "void" else "stands"
    return f"{'struck out' if after.kind == 'void' else 'superseded'} by #{after.seq}"


def _text(words: Telling, value: Any) -> str:
    return words.copy.text(value) if isinstance(value, dict) else str(value or "")


def _accepted(words: Telling, envelope: Mapping[str, Any]) -> Iterator[str]:
    for one in envelope.get("accepted") or ():
        why = _text(words, one.get("text"))
        yield f"{one.get('code', '')}: {why}" if why else str(one.get("code", ""))


def said(words: Telling, event: Written) -> str:
    """An entry as it stood: every field of its payload in words."""
    return "; ".join(f"{key.replace('_', ' ')} {words.words(value)}" for key, value in event.payload.items())


def changed(words: Telling, before: Written, after: Written) -> str:
    """What a superseding entry says otherwise: `cause: not determined → parasites`."""
    told = [f"date: {before.edtf} → {after.edtf}"] if before.edtf != after.edtf else []
    for key in dict.fromkeys((*before.payload, *after.payload)):
        old, new = (side.payload.get(key) for side in (before, after))
        if old != new:
            a, b = ("empty" if value is None else words.words(value) for value in (old, new))
            if a != b:
                told.append(f"{key.replace('_', ' ')}: {a} → {b}")
    return "; ".join(told)
