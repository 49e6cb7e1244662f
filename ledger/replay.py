"""The log read back: stored bytes to standing events, and what each batch of them did."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import orjson

from ledger import kinds
from ledger.fold import Tale, tell
from ledger.index import Index, Standing
from ledger.posting import Posting, Weighted
from ledger.store.port import StoredEvent


def standing(content: dict[str, Any], index: Index) -> tuple[Standing, int | None]:
    """A stored event as it stands in the index, and the position of what it supersedes."""
    kind = kinds.KINDS[content["kind"]]
    payload = kind.read(content["payload"], content["version"])
    superseded = index.by_id[content["supersedes"]] if content["supersedes"] else None
    root = index.root_of[superseded] if superseded else content["seq"]
    days = content["occurred"]
    first = date.fromisoformat(days["first"]).toordinal() if days["first"] else index.floor
    event = Standing(
        content["seq"],
        root,
        content["event_id"],
        content["kind"],
        payload,
        () if content["kind"] == "void" else kind.acts(payload),
        first,
        date.fromisoformat(days["last"]).toordinal(),
        days["edtf"],
        content["recorded"],
    )
    return event, superseded


def extend(index: Index, events: Iterable[StoredEvent]) -> None:
    """Bring an index up to date with events that follow it."""
    for stored in events:
        content = orjson.loads(stored.data)
        event, superseded = standing(content, index)
        index.apply(event, superseded, content["row_key"])
    index.forget_undo()


def refold(events: Iterable[StoredEvent]) -> Iterator[tuple[int, list[Posting], list[Weighted]]]:
    """(known from, postings, open rows) of every batch, worked out anew from the bytes alone."""
    from ledger.admission import Touched, differences

    index = Index()
    touched: dict[str, Touched] = {}
    start = 0
    for stored in events:
        content = orjson.loads(stored.data)
        event, superseded = standing(content, index)
        old = index.standing.get(event.root) if superseded else None
        subjects = dict.fromkeys([*(old.subjects() if old else []), *event.subjects()])
        before = {s: index.tale(s) if s in index.of_subject else Tale() for s in subjects if s not in touched}
        index.apply(event, superseded, content["row_key"])
        for subject in subjects:
            touched.setdefault(subject, Touched(before.get(subject, Tale())))
            touched[subject].steps.append((event.seq, index.entries(subject)))
        if content["batch"]["no"] == content["batch"]["of"]:
            postings, rows = differences(index, touched, start, event.seq)
            yield event.seq, postings, rows
            start, touched = event.seq, {}
            index.forget_undo()


__all__ = ["extend", "refold", "standing", "tell"]
