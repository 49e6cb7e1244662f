"""The log read back: stored bytes to standing events, and what each batch of them did."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any, NamedTuple

import orjson

from ledger import kinds
from ledger.admission import Touched, differences, let_stand, mentioned
from ledger.index import Index, Standing
from ledger.posting import Posting, Weighted
from ledger.store.port import StoredEvent


class Refolded(NamedTuple):
    """What the rules make of one batch: lines, open rows, and which event speaks of which subject."""

    known_from: int
    postings: tuple[Posting, ...]
    open_rows: tuple[Weighted, ...]
    subjects: tuple[tuple[str, int], ...]


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
        tuple(content["observed_by"]),
        tuple(accepted["code"] for accepted in content["accepted"]),
    )
    return event, superseded


def extend(index: Index, events: Iterable[StoredEvent]) -> None:
    """Bring an index up to date with events that follow it."""
    for stored in events:
        content = orjson.loads(stored.data)
        event, superseded = standing(content, index)
        index.apply(event, superseded, content["row_key"])
    index.forget_undo()


def refold(events: Iterable[dict[str, Any]]) -> Iterator[Refolded]:
    """What every batch must have posted, worked out anew from the content of the events alone."""
    index = Index()
    touched: dict[str, Touched] = {}
    subjects: list[tuple[str, int]] = []
    start = 0
    for content in events:
        event, superseded = standing(content, index)
        let_stand(index, touched, event, superseded, content["row_key"])
        subjects += [(s, event.seq) for s in mentioned(event)]
        if content["batch"]["no"] == content["batch"]["of"]:
            postings, rows = differences(touched, start, event.seq)
            yield Refolded(event.seq, tuple(postings), tuple(rows), tuple(subjects))
            start, touched, subjects = event.seq, {}, []
            index.forget_undo()
