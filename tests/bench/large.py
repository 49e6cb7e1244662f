"""A book ten times as large as one on disk: its segments told ten times over, under other ids, in the order of time.

Only the reading copy's files are made, and a store that lists them: what is measured at ten million events is reading.
Position p of repetition r becomes 10·p + r, so a log of the same years, ten times as dense.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import duckdb

from ledger.read.rows import COLUMNS
from ledger.store.port import Head, Segment

TIMES = 10
POSITIONS = ("known_from", "because", "effect", "choice", "seq", "root", "last_seq", "first_seq")
IDS = {"posting": ("subject",), "open_row": ("subject",), "naming": ("id",), "event": ("event_id",), "batch": ()}


class Listed:
    """A store that has nothing but segments."""

    def __init__(self, place: Path, head: int, segments: list[Segment]) -> None:
        self.place, self._head, self._segments = str(place), head, segments

    def head(self) -> Head:
        return Head(self._head)

    def segments(self) -> list[Segment]:
        return self._segments

    def posting_rows(self, after=0, upto=None):
        return iter(())

    open_row_rows = events = batches = posting_rows


def tenfold(base: Path, place: Path) -> Listed:
    """The tenfold book of the segments in the folder of `base`; made once."""
    where, source = Path(f"{place}.segments"), Path(f"{base}.segments")
    if not place.exists():
        where.mkdir(exist_ok=True)
        db = duckdb.connect()
        db.execute("set threads = 2")
        listed = []
        for table, columns in COLUMNS.items():
            path = where / f"{table}.parquet"
            _repeat(db, table, columns, source, path)
            rows = db.sql(f"select count(*) from '{path}'").fetchall()[0][0]
            with path.open("rb") as file:
                listed.append((table, rows, path.name, hashlib.file_digest(file, "sha256").hexdigest()))
        last = db.sql(f"select max(last_seq) from '{where}/batch.parquet'").fetchall()[0][0]
        place.write_text(json.dumps({"head": last, "listed": listed}))
    return listed_at(place)


def listed_at(place: Path) -> Listed:
    """The store of a tenfold book that was made."""
    told = json.loads(place.read_text())
    head = told["head"]
    return Listed(place, head, [Segment(t, 0, head, n, name, bytes.fromhex(h)) for t, n, name, h in told["listed"]])


def _repeat(db, table: str, columns, source: Path, path: Path) -> None:
    told = ", ".join(
        f"{c} * {TIMES} + r as {c}" if c in POSITIONS else f"{c} || r as {c}" if c in IDS[table] else c for c in columns
    )
    order = {"naming": "id, seq", "event": "seq", "batch": "last_seq"}.get(table, "known_from")
    group = {"naming": 16_384, "event": 32_768}.get(table, 131_072)
    db.execute(
        f"copy (select {told} from read_parquet('{source}/{table}-*.parquet'), range({TIMES}) t(r) order by {order})"
        f" to '{path}' (format parquet, compression zstd, row_group_size {group})"
    )
