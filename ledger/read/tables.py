"""The tables of a reading copy: views over what was brought into memory and over the segments that are whole.

Segments are hashed and opened when a question first needs their table, so a census does not wait for the log.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ledger.read.rows import COLUMNS, frames
from ledger.read.segments import Bad, fault, folder, newest

if TYPE_CHECKING:
    import duckdb

    from ledger.read.rows import Store
    from ledger.store.port import Segment

_SQL: Final = Path(__file__).with_name("sql")


@cache
def sql(name: str) -> str:
    """The text of `sql/{name}.sql`."""
    return (_SQL / f"{name}.sql").read_text(encoding="utf-8")


@cache
def _tables_of(name: str) -> frozenset[str]:
    """The tables a question speaks of; one too many does no harm."""
    return frozenset(COLUMNS) & frozenset(re.findall(r"[a-z_]+", sql(name)))


class Tables:
    """Posting, open_row, event, naming and batch of one store, up to a position.

    `set_aside`: segments that were listed and are not used, found so far.
    """

    def __init__(self, db: duckdb.DuckDBPyConnection, store: Store) -> None:
        self._db, self._store = db, store
        self.set_aside: list[Bad] = []
        db.execute(sql("tables"))
        self._listed = _without_gap(newest(store))
        self._waiting = {table for table, listed in self._listed.items() if listed}
        self.begin = min(listed[-1].upto if listed else 0 for listed in self._listed.values())

    def bring(self, after: int, upto: int) -> None:
        """Rows of the store that became known after a position and up to another; linear in these rows."""
        for table, rows in frames(self._store, after, upto):
            self._insert(table, rows)

    def need(self, question: str) -> None:
        """Open the segments of the tables that a question (a file of `sql`) speaks of."""
        for table in _tables_of(question) & self._waiting:
            self._view(table, self._whole(table))
            self._waiting.discard(table)

    def into_memory(self) -> None:
        """Take the segments into memory, for many questions."""
        for table, listed in self._listed.items():
            files = self._whole(table) if table in self._waiting else self._usable(listed)
            if files:
                order = " order by id, seq" if table == "naming" else ""
                self._db.execute(f"insert into tail.{table} by name {_reading(files)}{order}")
                self._view(table, [])
        self._waiting.clear()
        self._listed = {table: [] for table in COLUMNS}

    def _whole(self, table: str) -> list[str]:
        """Paths of a table's segments that are as listed; the rows of the others are brought from the store."""
        for segment in self._listed[table]:
            why = fault(self._store, segment) or _unreadable(self._store, segment)
            if why:
                self.set_aside.append(Bad(segment, why))
                for _, rows in frames(self._store, segment.after, segment.upto, [table]):
                    self._insert(table, rows)
        return self._usable(self._listed[table])

    def _usable(self, listed: list[Segment]) -> list[str]:
        aside = {bad.segment for bad in self.set_aside}
        return [str(folder(self._store) / s.file) for s in listed if s not in aside]

    def _view(self, table: str, files: list[str]) -> None:
        tail = f"select * from tail.{table}"  # noqa: S608  # names of our own
        read = f" union all by name {_reading(files)}" if files else ""
        self._db.execute(f"create or replace view {table} as {tail}{read}")

    def _insert(self, table: str, rows: object) -> None:
        self._db.register("incoming", rows.to_arrow())  # type: ignore[attr-defined]  # a polars frame
        self._db.execute(sql(f"into_{table}"))
        self._db.unregister("incoming")


def _reading(files: list[str]) -> str:
    quoted = ", ".join("'" + file.replace("'", "''") + "'" for file in files)
    return f"select * from read_parquet([{quoted}])"  # noqa: S608  # paths, quoted


def _unreadable(store: Store, segment: Segment) -> str:
    """DuckDB takes some characters of a path for patterns: it would read other files than were hashed."""
    strange = set("*?[") & set(str(folder(store)))
    return f"the segment {segment.file} lies in a folder named with {' '.join(sorted(strange))}" if strange else ""


def _without_gap(segments: list[Segment]) -> dict[str, list[Segment]]:
    """The segments of each table from the beginning on, each beginning where the one before ended, the same for all."""
    by_table: dict[str, list[Segment]] = {table: [] for table in COLUMNS}
    for segment in sorted(segments, key=lambda s: s.after):
        held = by_table.get(segment.holds)
        if held is not None and segment.after == (held[-1].upto if held else 0):
            held.append(segment)
    common = min(held[-1].upto if held else 0 for held in by_table.values())
    return {table: [s for s in held if s.upto <= common] for table, held in by_table.items()}
