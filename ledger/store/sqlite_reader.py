"""Reading a book in SQLite, page by page: every page is a transaction of its own, so no writer waits long."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Final, TypeVar

from ledger.event import TextRow
from ledger.posting import Posting, Weighted
from ledger.store.errors import NoSuch
from ledger.store.port import BatchRow, Derived, Head, Segment, StoredEvent
from ledger.store.rows import BATCH, EVENT, OPEN_ROW, POSTING, typed_open_rows, typed_postings
from ledger.store.sqlite_file import told

PAGE: Final = 1_000
PAGE_OF_LINES: Final = 20_000
BLOCK_BITS: Final = 16
LOOKED_UP: Final = ("event_id", "row_key", "supersedes")

Row = tuple[Any, ...]
T = TypeVar("T")


def columns(names: Iterable[str]) -> str:
    """Column names for SQL; quoted, since some are words of it."""
    return ", ".join(f'"{name}"' for name in names)


def _stored(row: Row) -> StoredEvent:
    return StoredEvent(Derived(*row[:10]), row[10], row[11])


_EVENTS = f"SELECT {columns(EVENT)} FROM event"  # noqa: S608  # column names of our own
_HEAD = "SELECT seq, leaf, recorded FROM event ORDER BY seq DESC LIMIT 1"
_JOURNAL = "SELECT journal FROM batch ORDER BY known_from DESC LIMIT 1"
_LAST_LINE = "SELECT coalesce(max({end}), 0) FROM batch WHERE known_from <= ?"
# one search a block of 65,536 positions
_SUBJECT = """WITH RECURSIVE part (block) AS (SELECT 0 UNION ALL SELECT block + 1 FROM part WHERE block < ?)
SELECT seq FROM part CROSS JOIN subject_event USING (block) WHERE subject = ? ORDER BY seq"""


class SqliteReader:
    """The reading half of the port over one connection."""

    def __init__(self, connection: sqlite3.Connection, place: str) -> None:
        self._connection = connection
        self.place = place

    def _all(self, sql: str, given: Iterable[Any] = ()) -> list[Row]:
        with told(self.place):
            return self._connection.execute(sql, tuple(given)).fetchall()

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Several questions on one state. Inside a writing transaction, or another reading, that one serves."""
        if self._connection.in_transaction:
            yield
            return
        self._all("BEGIN")
        try:
            yield
        finally:
            self._all("ROLLBACK")

    def head(self) -> Head:
        """Where the book stands."""
        with self.reading():
            event, journal = self._all(_HEAD), self._all(_JOURNAL)
        if not event:
            return Head()
        seq, leaf, recorded = event[0]
        return Head(seq, leaf, journal[0][0], recorded)

    def _limit(self, upto: int | None) -> int:
        return self.head().position if upto is None else upto

    def _pages(self, sql: str, after: int, upto: int, size: int) -> Iterator[list[Row]]:
        """Pages of a query whose first column rises, with parameters after, upto, size."""
        while rows := self._all(sql, (after, upto, size)):
            yield rows
            after = rows[-1][0]

    def events(
        self, after: int = 0, upto: int | None = None, kinds: Collection[str] | None = None
    ) -> Iterator[StoredEvent]:
        """Events in order."""
        only = "" if kinds is None else f" AND kind IN ({', '.join('?' * len(kinds))})"
        sql = f"{_EVENTS} WHERE seq > ? AND seq <= ?{only} ORDER BY seq LIMIT {PAGE}"
        named = tuple(kinds or ())
        limit = self._limit(upto)

        def read(start: int) -> Iterator[StoredEvent]:
            while rows := self._all(sql, (start, limit, *named)):
                yield from map(_stored, rows)
                start = rows[-1][0]

        return read(after)

    def _one(self, column: str, value: Any) -> StoredEvent:
        rows = self._all(f"{_EVENTS} WHERE {column} = ?", (value,))
        if not rows:
            raise NoSuch(f"there is no event {'#' if column == 'seq' else ''}{value}.")
        return _stored(rows[0])

    def event(self, seq: int) -> StoredEvent:
        """One event by position."""
        return self._one("seq", seq)

    def by_event_id(self, event_id: str) -> StoredEvent:
        """One event by its UUID."""
        return self._one("event_id", event_id)

    def seq_of(self, column: str, values: Iterable[str]) -> dict[str, int]:
        """Positions by value, of those there are."""
        if column not in LOOKED_UP:
            raise ValueError(column)
        sql = f"SELECT {column}, seq FROM event WHERE {column} = ?"  # noqa: S608  # one of three words
        return {row[0]: row[1] for value in values for row in self._all(sql, (value,))}

    def subject_seqs(self, subject: str) -> list[int]:
        """Positions of the events that speak of a subject."""
        with self.reading():
            blocks = self.head().position >> BLOCK_BITS
            return [row[0] for row in self._all(_SUBJECT, (blocks, subject))]

    def subjects(self) -> Iterator[tuple[str, int]]:
        """The whole index of subjects, sorted."""
        return iter(self._all("SELECT subject, seq FROM subject_event ORDER BY subject, seq"))

    def _lines(self, table: str, end: str, names: tuple[str, ...], after: int, upto: int | None) -> Iterator[list[Row]]:
        # ids rise with positions, so the rows after a position are those after the last id of its batch
        last = _LAST_LINE.format(end=end)
        start, stop = (self._all(last, (position,))[0][0] for position in (after, self._limit(upto)))
        sql = f"SELECT id, {columns(names)} FROM {table} WHERE id > ? AND id <= ? ORDER BY id LIMIT ?"  # noqa: S608
        for page in self._pages(sql, start, stop, PAGE_OF_LINES):
            yield [row[1:] for row in page]

    def posting_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[Row]]:
        """Lines of the journal, flat."""
        return self._lines("posting", "last_posting", POSTING, after, self._limit(upto))

    def open_row_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[Row]]:
        """Open rows, flat."""
        return self._lines("open_row", "last_open_row", OPEN_ROW, after, self._limit(upto))

    def postings(self, after: int = 0, upto: int | None = None) -> Iterator[Posting]:
        """Lines of the journal."""
        return _flattened(typed_postings, self.posting_rows(after, upto))

    def open_rows(self, after: int = 0, upto: int | None = None) -> Iterator[Weighted]:
        """Open rows with their weights."""
        return _flattened(typed_open_rows, self.open_row_rows(after, upto))

    def batches(self, after: int = 0, upto: int | None = None) -> Iterator[BatchRow]:
        """Batches in order."""
        sql = f"SELECT {columns(BATCH)} FROM batch WHERE known_from > ? AND known_from <= ? ORDER BY 1 LIMIT ?"  # noqa: S608
        pages = self._pages(sql, after, self._limit(upto), PAGE_OF_LINES)
        return (BatchRow(*row) for page in pages for row in page)

    def segments(self) -> list[Segment]:
        """Segments of the reading copy."""
        rows = self._all(f"SELECT {columns(Segment._fields)} FROM segment ORDER BY id")  # noqa: S608
        return [Segment(*row) for row in rows]

    def text(self, commit: str) -> str:
        """A detached text."""
        rows = self._all('SELECT text FROM text WHERE "commit" = ?', (bytes.fromhex(commit),))
        if not rows:
            raise NoSuch(f"the text {commit[:12]}… is not in the book (erased, or never written).")
        found: str = rows[0][0]
        return found

    def texts(self) -> Iterator[TextRow]:
        """All detached texts."""
        sql = 'SELECT rowid, "commit", salt, text FROM text WHERE rowid > ? AND rowid <= ? ORDER BY rowid LIMIT ?'
        pages = self._pages(sql, 0, self._all("SELECT coalesce(max(rowid), 0) FROM text")[0][0], PAGE)
        return (TextRow(row[1].hex(), row[2], row[3]) for page in pages for row in page)


def _flattened(typed: Callable[[list[Row]], list[T]], pages: Iterator[list[Row]]) -> Iterator[T]:
    return (row for page in pages for row in typed(page))
