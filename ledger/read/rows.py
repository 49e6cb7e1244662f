"""Rows of the store as the reading copy's tables hold them, and frames of them: for the copy and for its segments."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final, Protocol

import orjson
import polars as pl

from ledger.store.port import BatchRow, Head, Segment, StoredEvent
from ledger.store.rows import OPEN_ROW, POSTING

EVENT: Final = (
    *("seq", "root", "known_from", "kind", "edtf", "first_day", "last_day", "recorded", "actor", "payload", "leaf"),
    *("event_id", "reason", "words"),
)
BATCH: Final = ("last_seq", "first_seq", "recorded", "journal")
NAMING: Final = ("id", "seq")
COLUMNS: Final = {"posting": POSTING, "open_row": OPEN_ROW, "event": EVENT, "naming": NAMING, "batch": BATCH}
DAYS: Final = ("counts_on", "could_from", "from_day", "to_day", "first_day", "last_day")
MANY: Final = 50_000  # rows of one frame, about

_NAMED: Final = re.compile(r'"id":"([agbu]-[0-9a-z]+)"')  # a quote inside what a person typed stands escaped
_WHOLE: Final = frozenset(
    (
        *("known_from", "because", "effect", "delta", "choice", "part", "state", "n", "weight"),
        *("seq", "root", "last_seq", "first_seq"),
    )
)

Row = tuple[Any, ...]


class Store(Protocol):
    """What the copy asks of a store (`ledger.store.port.Reader` has all of it)."""

    place: str

    def head(self) -> Head:
        """Where the book stands."""

    def events(self, after: int = 0, upto: int | None = None) -> Iterator[StoredEvent]:
        """Events in order."""

    def by_event_id(self, event_id: str) -> StoredEvent:
        """One event by its UUID."""

    def posting_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[Row]]:
        """Lines of the journal by the thousand, flat."""

    def open_row_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[Row]]:
        """Open rows by the thousand, flat."""

    def batches(self, after: int = 0, upto: int | None = None) -> Iterator[BatchRow]:
        """Batches in order."""

    def segments(self) -> list[Segment]:
        """Segments of the reading copy, in the order of their listing."""

    def text(self, commit: str) -> str:
        """A detached text by its commitment; raises NoSuch."""


def frame(table: str, rows: Sequence[Row]) -> pl.DataFrame:
    """Rows of a table as a frame: whole numbers, days and texts."""
    columns = COLUMNS[table]
    made = pl.DataFrame(rows, schema={c: pl.Int64 if c in _WHOLE else pl.String for c in columns}, orient="row")
    return made.with_columns(pl.col(c).str.to_date("%Y-%m-%d") for c in columns if c in DAYS)


def frames(store: Store, after: int, upto: int, tables: Iterable[str] = COLUMNS) -> Iterator[tuple[str, pl.DataFrame]]:
    """All that became known after a position and up to another (ends of batches), some tables of it, by table."""
    wanted = set(tables)
    for table, pages in (("posting", store.posting_rows), ("open_row", store.open_row_rows)):
        if table in wanted:
            for rows in pages(after, upto):
                yield table, frame(table, rows)
    if wanted & {"event", "naming", "batch"}:
        for table, made in _of_events(store, after, upto):
            if table in wanted:
                yield table, made


def _of_events(store: Store, after: int, upto: int) -> Iterator[tuple[str, pl.DataFrame]]:
    recorded: dict[int, str] = {}  # of the last events of batches
    events: list[Row] = []
    naming: list[Row] = []
    for stored in store.events(after, upto):
        row, named = _event(store, stored)
        events.append(row)
        naming += named
        if stored.columns.seq == stored.columns.batch_end:
            recorded[stored.columns.seq] = stored.columns.recorded
        if len(events) >= MANY:
            yield "event", frame("event", events)
            yield "naming", frame("naming", naming)
            events, naming = [], []
    if events:
        yield "event", frame("event", events)
        yield "naming", frame("naming", naming)
    rows = [(b.known_from, b.first_seq, recorded[b.known_from], b.journal.hex()) for b in store.batches(after, upto)]
    if rows:
        yield "batch", frame("batch", rows)


def _event(store: Store, stored: StoredEvent) -> tuple[Row, list[Row]]:
    """An event's row, and its rows of `naming`."""
    event, columns = orjson.loads(stored.data), stored.columns
    payload = orjson.dumps(event["payload"]).decode()
    names = set(_NAMED.findall(payload))
    seq = root = columns.seq
    naming: list[Row] = [(one, seq) for one in names]
    if columns.supersedes is not None:
        line = _line(store, columns.supersedes)
        root = line[0][0]
        naming += _of_line(line, seq, names)
    reason = event.get("reason") or {}
    words = reason.get("text", {}).get("commit", "")
    row = (
        *(seq, root, columns.batch_end, columns.kind, event["occurred"]["edtf"], columns.first, columns.last),
        *(columns.recorded, event["actor"], payload, stored.leaf.hex(), columns.event_id),
        *(reason.get("code", ""), words),
    )
    return row, naming


def _line(store: Store, event_id: str) -> list[tuple[int, set[str]]]:
    """The line of corrections up to an event: positions, rising, and what each event names."""
    line = []
    superseded: str | None = event_id
    while superseded is not None:
        stored = store.by_event_id(superseded)
        payload = orjson.dumps(orjson.loads(stored.data)["payload"]).decode()
        line.append((stored.columns.seq, set(_NAMED.findall(payload))))
        superseded = stored.columns.supersedes
    return line[::-1]


def _of_line(line: list[tuple[int, set[str]]], seq: int, names: set[str]) -> list[Row]:
    """What one event of a line names, the whole line names; and `#` with the line's first position names the rest."""
    before = set().union(*(named for _, named in line))
    rows: list[Row] = [(f"#{line[0][0]}", seq)]
    rows += [(one, seq) for one in before - names]
    rows += [(one, earlier) for one in names - before for earlier, _ in line]
    return rows
