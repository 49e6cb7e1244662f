"""A book in one SQLite file: one writer at a time, by BEGIN IMMEDIATE, and any number of readers.

The driver's own transactions are off (`isolation_level=None`): with them, reading the head happens in no
transaction, and two programs that read it and then write fork the chain without any error.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

from ledger.store.errors import BrokenWall, HeadMoved, ReadOnly
from ledger.store.port import Batch, Head, Segment
from ledger.store.rows import BATCH, EVENT, OPEN_ROW, POSTING, flat_open_row, flat_posting
from ledger.store.sqlite_file import check_schema, connect, create, schema_faults, told
from ledger.store.sqlite_reader import BLOCK_BITS, SqliteReader, columns


def _insert(table: str, names: tuple[str, ...]) -> str:
    return f"INSERT INTO {table} ({columns(names)}) VALUES ({', '.join('?' * len(names))})"  # noqa: S608


_EVENT = _insert("event", EVENT)
_POSTING = _insert("posting", ("id", *POSTING))
_OPEN_ROW = _insert("open_row", ("id", *OPEN_ROW))
_TEXT = _insert("text", ("commit", "salt", "text"))
_SUBJECT = _insert("subject_event", ("block", "subject", "seq"))
_BATCH = _insert("batch", (*BATCH, "last_posting", "last_open_row"))
_SEGMENT = _insert("segment", Segment._fields)
_BEYOND = {
    "posting": "SELECT count(*) FROM posting WHERE id > ?",
    "open_row": "SELECT count(*) FROM open_row WHERE id > ?",
}
_ENDS = "SELECT last_posting, last_open_row FROM batch ORDER BY known_from DESC LIMIT 1"


class _Writing(SqliteReader):
    """The writing transaction; reads see what it has appended."""

    def append(self, batch: Batch, expected: Head) -> Head:
        """Append where the head is `expected`. The batch's own row goes in last: it shuts the batch."""
        head = self.head()
        if head != expected:
            raise HeadMoved(f"{self.place} stands at {head.position}, not at {expected.position}; read it again.")
        batch.fits(head)
        many = self._connection.executemany
        with told(self.place):
            postings, open_rows = (self._all(_ENDS) or [(0, 0)])[0]
            many(_EVENT, [(*event.columns, event.leaf, event.data) for event in batch.events])
            many(_POSTING, [(i, *flat_posting(row)) for i, row in zip(count(postings + 1), batch.postings)])
            many(_OPEN_ROW, [(i, *flat_open_row(row)) for i, row in zip(count(open_rows + 1), batch.open_rows)])
            many(_TEXT, [(bytes.fromhex(text.commit), text.salt, text.text) for text in batch.texts])
            many(_SUBJECT, sorted({(seq >> BLOCK_BITS, subject, seq) for subject, seq in batch.subjects}))
            ends = (postings + len(batch.postings), open_rows + len(batch.open_rows))
            self._connection.execute(_BATCH, (*batch.row, *ends))
        last = batch.events[-1]
        return Head(batch.end, last.leaf, batch.journal, last.columns.recorded)

    def list_segments(self, segments: Iterable[Segment]) -> None:
        """List files of the reading copy."""
        with told(self.place):
            self._connection.executemany(_SEGMENT, list(segments))


class SqliteStore(SqliteReader):
    """The store of a book in a file. `write=False` (the default) cannot change it in any way."""

    # the word is a class attribute so that the two-process test can show what a weaker one does
    _begin_word = "BEGIN IMMEDIATE"

    def __init__(self, path: str | Path, *, write: bool = False) -> None:
        path = Path(path)
        super().__init__(connect(path, write=write), str(path))
        self._write = write
        self._cookie = self._schema_cookie()

    @classmethod
    def create(cls, path: str | Path) -> SqliteStore:
        """A new book without events, open for writing. Raises BookExists, NoBook, ReadOnly."""
        create(Path(path))
        return cls(path, write=True)

    def _schema_cookie(self) -> int:
        cookie: int = self._all("PRAGMA schema_version")[0][0]
        return cookie

    @contextmanager
    def begin(self) -> Iterator[_Writing]:
        """The one writing transaction."""
        if not self._write:
            raise ReadOnly(f"{self.place} is open for reading; open it with write=True.")
        if self._connection.in_transaction:
            raise BrokenWall(f"{self.place}: a transaction is open already.")
        self._all(self._begin_word)
        try:
            # a trigger planted since we opened would rewrite what we are about to write
            if (cookie := self._schema_cookie()) != self._cookie:
                check_schema(self._connection, self.place)
                self._cookie = cookie
            yield _Writing(self._connection, self.place)
            self._all("COMMIT")
        except BaseException:
            self._connection.rollback()
            raise

    def damage(self) -> list[str]:
        """SQLite's own check of the file, and the schema against the shipped one."""
        try:
            with self.reading():
                found = [row[0] for row in self._connection.execute("PRAGMA integrity_check")]
                damaged = [f"the file is damaged: {each}" for each in found if each != "ok"]
                return damaged + schema_faults(self._connection) + self._strays()
        except sqlite3.DatabaseError as error:
            return [f"the file is damaged: {error}"]

    def _strays(self) -> list[str]:
        """Lines and open rows beyond those of the last batch: no reader is given them, and none should be there."""
        ends = (self._all(_ENDS) or [(0, 0)])[0]
        counts = [self._all(sql, (end,))[0][0] for sql, end in zip(_BEYOND.values(), ends, strict=True)]
        found = dict(zip(_BEYOND, counts, strict=True))
        return [f"{count} rows of {table} belong to no batch" for table, count in found.items() if count]

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()
