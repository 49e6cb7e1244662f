"""A body out of a count counts on the day of that count.

A death entered `out_of_count` takes its share out of the difference that count found, on the day whose balance the
count set. Finds one whose count was since put on another day, struck out, or moved to another lot: its share would
come out of nothing. The way out is to correct both in one batch, the count first.
Source: derived; of one difference the parts stand on one day.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from ledger.checks.base import Batch, say, subject_of
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing

CODES = ("body-without-count",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a death; of a correction of the count, at that correction."""
    told: set[int] = set()
    for draft in batch.drafts:
        for death in _deaths(batch.index, draft):
            wrong = _wrong(batch.index, death)
            if wrong and death.root not in told:
                told.add(death.root)
                yield _finding(batch, draft, death, wrong)


def _finding(batch: Batch, draft: Draft, death: Standing, wrong: str) -> Finding:
    body, way_out = say(batch.index, death), f"Correct #{death.seq} in the same batch, after the count."
    if "no longer" in wrong:
        way_out = f"Strike #{death.seq} out, or correct it without out_of_count, in the same batch."
    other = 0 if draft.standing.root == death.root else death.seq
    return draft.at.finding(
        "body-without-count", f"{body}, is out of a count {wrong}", "the day of that count", way_out, "", other
    )


def _deaths(index: Index, draft: Draft) -> Iterator[Standing]:
    """Deaths out of a count that an entry could leave without it: itself; or all of the lot whose count it changes."""
    event = draft.standing
    if event.kind == "death":
        yield from [event] if _count_of(event) else []
    elif draft.old is not None and draft.old.kind == "count":
        for root in index.of_subject.get(subject_of(draft.old.payload), ()):
            other = index.standing.get(root)
            if other is not None and other.kind == "death" and _count_of(other):
                yield other


def _count_of(death: Standing) -> str:
    return str(getattr(death.payload, "out_of_count", None) or "")


def _wrong(index: Index, death: Standing) -> str:
    """What does not fit between a death and its count; "" where all does."""
    seq = index.seq_of(_count_of(death))
    count = index.standing.get(index.root_of[seq]) if seq is not None else None
    if count is None or subject_of(count.payload) != subject_of(death.payload):
        return "that no longer stands"
    day = _day(count)
    return f"that now stands for {day}" if str(getattr(death.payload, "count_day", "")) != day else ""


def _day(count: Standing) -> str:
    """The day whose balance a count sets: the one it stands for, or its own; the eve of one made before all else."""
    stands_for = getattr(count.payload, "stands_for", None)
    if stands_for:
        return str(stands_for)
    day = date.fromordinal(count.last)
    return (day - timedelta(days=1) if getattr(count.payload, "before", None) else day).isoformat()
