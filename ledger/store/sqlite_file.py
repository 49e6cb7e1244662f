"""The SQLite file of a book: made, opened, recognised, its schema compared word for word, its errors put into words.

The file is never opened but through SQLite: closing any other handle on it would drop the locks of this process.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path
from typing import Final

from ledger.store.errors import (
    BookExists,
    BrokenWall,
    Locked,
    NewerBook,
    NoBook,
    NotABook,
    ReadOnly,
    SchemaChanged,
    StoreError,
    StoreTrouble,
    UnsafeJournal,
)

APPLICATION_ID: Final = 0x54696465
SCHEMA: Final = 1
WAIT_SECONDS: Final = 10.0
# below this release the write-ahead log has a data race between writers
SAFE_WAL: Final = (3, 51, 3)

_COMMON = (
    "PRAGMA trusted_schema=OFF",  # a planted view or trigger may call only harmless functions
    "PRAGMA cell_size_check=ON",
    "PRAGMA recursive_triggers=ON",  # INSERT OR REPLACE fires the triggers of what it takes away
    "PRAGMA secure_delete=ON",
)
# the only default that lost no acknowledged commit when power failed
_WRITER = (
    "PRAGMA journal_mode=DELETE",
    "PRAGMA synchronous=EXTRA",
    "PRAGMA fullfsync=ON",
    "PRAGMA cache_size=-65536",  # KiB: the indexes of a large book stay in memory while it is loaded
)
_READER = ("PRAGMA query_only=ON",)

Schema = frozenset[tuple[str, str, str, str]]
_SCHEMA_QUERY = """SELECT type, name, tbl_name, sql FROM sqlite_schema
WHERE sql IS NOT NULL AND name NOT IN ('sqlite_stat1', 'sqlite_stat4')"""


def schema_text() -> str:
    """The schema as shipped."""
    return Path(__file__).with_name(f"schema_{SCHEMA}.sql").read_text("utf-8")


@cache
def expected_schema() -> Schema:
    """(type, name, table, text) of all that a book's file holds besides rows."""
    with closing(sqlite3.connect(":memory:")) as blank:
        blank.executescript(schema_text())
        return frozenset(blank.execute(_SCHEMA_QUERY))


def schema_faults(connection: sqlite3.Connection) -> list[str]:
    """How the schema of a file differs from the shipped one, a sentence each; rows are not looked at."""
    found: Schema = frozenset(connection.execute(_SCHEMA_QUERY))
    expected = expected_schema()
    names, here = ({f"{row[0]} {row[1]}" for row in rows} for rows in (expected, found))
    other = {f"{row[0]} {row[1]}" for row in found - expected}
    return [
        *(f"the {name} is not as shipped" for name in sorted(other & names)),
        *(f"the {name} does not belong here" for name in sorted(here - names)),
        *(f"the {name} is missing" for name in sorted(names - here)),
    ]


def check_schema(connection: sqlite3.Connection, place: str) -> None:
    """Raise SchemaChanged where the file holds another table, index or trigger than shipped."""
    if faults := schema_faults(connection):
        raise SchemaChanged(f"{place} was tampered with or damaged: {'; '.join(faults)}.")


def create(path: Path) -> None:
    """An empty book at `path`. Raises BookExists, NoBook (no such folder), ReadOnly."""
    try:
        # exclusive, so that of two makers one is refused; no lock can be lost, the file is new
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o644))
    except FileExistsError:
        raise BookExists(f"{path} exists already; choose another name.") from None
    except FileNotFoundError:
        raise NoBook(f"the folder of {path} does not exist; make it first.") from None
    except OSError as refused:
        raise ReadOnly(f"{path} cannot be made: {refused.strerror}.") from None
    try:
        with told(str(path)), closing(_connect(path)) as connection:
            for pragma in (*_COMMON, *_WRITER):
                connection.execute(pragma)
            marks = f"PRAGMA application_id={APPLICATION_ID}; PRAGMA user_version={SCHEMA};"
            connection.executescript(f"BEGIN IMMEDIATE; {marks} {schema_text()} COMMIT;")
    except BaseException:
        path.unlink(missing_ok=True)  # a file half made would be neither a book nor a free name
        raise


def connect(path: Path, *, write: bool) -> sqlite3.Connection:
    """A connection to a book that stands.

    Raises NoBook, NotABook, NewerBook, UnsafeJournal, SchemaChanged, Locked, ReadOnly.
    """
    if not path.exists():
        raise NoBook(f"there is no book at {path}.")
    if not path.is_file():
        raise NotABook(f"{path} is not a file.")
    if write and not os.access(path, os.W_OK):
        raise ReadOnly(f"{path} may not be written by you.")
    with told(str(path)):
        connection = _connect(path)
        try:
            _recognise(connection, path)
            for pragma in (*_COMMON, *(_WRITER if write else _READER)):
                connection.execute(pragma)
            check_schema(connection, str(path))
        except BaseException:
            connection.close()
            raise
    return connection


def _connect(path: Path) -> sqlite3.Connection:
    # rw for readers too: after a crash the first to come must be able to roll back what was half written
    uri = path.absolute().as_uri() + "?mode=rw"
    return sqlite3.connect(uri, uri=True, isolation_level=None, timeout=WAIT_SECONDS)


def _recognise(connection: sqlite3.Connection, path: Path) -> None:
    def pragma(name: str) -> int | str:
        value: int | str = connection.execute(f"PRAGMA {name}").fetchone()[0]
        return value

    if pragma("application_id") != APPLICATION_ID:
        raise NotABook(f"{path} is not a book.")
    version = int(pragma("user_version"))
    if version > SCHEMA:
        raise NewerBook(f"{path} was written by a later version (schema {version}); this one knows {SCHEMA}.")
    if version != SCHEMA:
        raise NotABook(f"{path} has a schema number ({version}) that no version writes.")
    if pragma("journal_mode") == "wal" and sqlite3.sqlite_version_info < SAFE_WAL:
        raise UnsafeJournal(
            f"{path} is in write-ahead mode, which SQLite {sqlite3.sqlite_version} does not keep safely; "
            "set its journal_mode to DELETE."
        )


_WORDS: Final[dict[int, tuple[type[StoreError], str]]] = {
    sqlite3.SQLITE_BUSY: (Locked, "another program is writing; try again in a moment"),
    sqlite3.SQLITE_LOCKED: (Locked, "another program is writing; try again in a moment"),
    sqlite3.SQLITE_READONLY: (ReadOnly, "it may not be written"),
    sqlite3.SQLITE_PERM: (ReadOnly, "it may not be written"),
    sqlite3.SQLITE_CANTOPEN: (ReadOnly, "the file or its folder may not be opened for writing"),
    sqlite3.SQLITE_AUTH: (ReadOnly, "it may not be read"),
    sqlite3.SQLITE_NOTADB: (NotABook, "it is not a book"),
    sqlite3.SQLITE_CORRUPT: (NotABook, "the file is damaged"),
    sqlite3.SQLITE_FULL: (StoreTrouble, "the disk is full; nothing was written"),
    sqlite3.SQLITE_IOERR: (StoreTrouble, "the disk fails"),
    sqlite3.SQLITE_CONSTRAINT: (BrokenWall, "a wall of the store held"),
}


@contextmanager
def told(place: str) -> Iterator[None]:
    """SQLite's errors inside, as ours outside."""
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the extended codes keep the plain one in their low byte
        sort, words = _WORDS.get(code, (StoreTrouble, "the store did not answer as it should"))
        raise sort(f"{place}: {words} ({error}).") from error
