"""Segments: closed stretches of the reading copy as Parquet files, listed in the store with the hash of the whole file.

A cache: the copy that reads them answers as the copy that reads the store. Exactly the listed files are used, each
hashed once before use; one that is missing or another than was listed is set aside and named, never healed: its rows
come from the store instead, and `write` can make it anew under another name.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

import polars as pl
import pyarrow.parquet as pq

from ledger.read.rows import COLUMNS, Store, frames
from ledger.store.port import Segment

LEAST: Final = 10_000  # events that are worth a segment
MOST: Final = 1_000_000  # events of one segment, about
_GROUP: Final = {"naming": 16_384, "event": 32_768}  # rows of one group, where it is small so that most are skipped
_GROUPS: Final = 131_072


class Writing(Store, Protocol):
    """A store in which segments can be listed."""

    def begin(self) -> Any:
        """The one writing transaction."""


class Bad(NamedTuple):
    """A listed segment that is not used, and why: a sentence."""

    segment: Segment
    why: str


def folder(store: Store) -> Path:
    """Where a store's segments stand: beside its file."""
    return Path(f"{store.place}.segments")


def write(store: Writing, *, least: int = LEAST, most: int = MOST) -> list[Segment]:
    """Write what has no segment yet, where it is at least `least` events, and list it. Gives what was listed.

    A listed segment that is missing or not as listed is written anew. Raises OSError where the folder cannot be
    written, StoreError where the store cannot.
    """
    listed = newest(store)
    head = store.head().position
    done = max((s.upto for s in listed), default=0)
    again = {(s.after, s.upto) for s in listed if fault(store, s)}
    spans = [*sorted(again), *(_spans(store, done, head, most) if head - done >= max(least, 1) else ())]
    written: list[Segment] = []
    for after, upto in spans:
        tables = [s.holds for s in listed if (s.after, s.upto) == (after, upto) and fault(store, s)]
        made = list(_files(store, after, upto, tables or list(COLUMNS)))
        with store.begin() as tx:
            tx.list_segments(made)
        written += made
    return written


def newest(store: Store) -> list[Segment]:
    """The segments that count: of two listings for the same rows the later."""
    return list({(s.holds, s.after): s for s in store.segments()}.values())


def fault(store: Store, segment: Segment) -> str:
    """Why a segment is not to be used, as a sentence; "" where it is the file that was listed."""
    path = folder(store) / segment.file
    try:
        with path.open("rb") as file:
            found = hashlib.file_digest(file, "sha256").digest()
    except OSError:
        return f"the segment {segment.file} is missing or cannot be read"
    return "" if found == segment.sha256 else f"the segment {segment.file} is not the file that was listed"


def _spans(store: Store, after: int, upto: int, most: int) -> Iterator[tuple[int, int]]:
    start = after
    for batch in store.batches(after, upto):
        if batch.known_from - start >= most:
            yield start, batch.known_from
            start = batch.known_from
    if start < upto:
        yield start, upto


def _files(store: Store, after: int, upto: int, tables: list[str]) -> Iterator[Segment]:
    """One file a table; each whole on disk before it bears its name."""
    where = folder(store)
    where.mkdir(exist_ok=True)
    writers: dict[str, _File] = {table: _File(where, table, after, upto) for table in tables}
    try:
        for table, rows in frames(store, after, upto, tables):
            writers[table].add(rows)
        for table in tables:
            yield writers[table].close()
    finally:
        for writer in writers.values():
            writer.drop()


class _File:
    """A Parquet file that grows frame by frame."""

    def __init__(self, where: Path, table: str, after: int, upto: int) -> None:
        name = f"{table}-{after:012}-{upto:012}"
        taken = len(list(where.glob(f"{name}*.parquet")))
        self._path = where / (f"{name}-{taken + 1}.parquet" if taken else f"{name}.parquet")
        self._part = self._path.with_suffix(".part")
        self._span = (table, after, upto)
        self._writer: pq.ParquetWriter | None = None
        self._kept: list[pl.DataFrame] = []
        self._rows = self._count = 0

    def add(self, rows: pl.DataFrame) -> None:
        self._kept.append(rows)
        self._count += len(rows)
        # what is asked by id is sorted as a whole, so that few groups hold one id
        if self._span[0] != "naming" and self._count >= _GROUPS:
            self._put()

    def _put(self) -> None:
        if not self._kept:
            return
        table = self._span[0]
        rows = pl.concat(self._kept)
        arrow = (rows.sort("id", "seq") if table == "naming" else rows).to_arrow()
        if self._writer is None:
            self._writer = pq.ParquetWriter(self._part, arrow.schema, compression="zstd", compression_level=3)
        self._writer.write_table(arrow, row_group_size=_GROUP.get(table, _GROUPS))
        self._rows += len(rows)
        self._kept, self._count = [], 0

    def close(self) -> Segment:
        """The file in its place, as it is to be listed."""
        if self._writer is None and not self._kept:
            self._kept = [_empty(self._span[0])]
        self._put()
        assert self._writer is not None
        self._writer.close()
        with self._part.open("rb+") as file:
            os.fsync(file.fileno())
            found = hashlib.file_digest(file, "sha256").digest()
        self._part.rename(self._path)
        return Segment(*self._span, self._rows, self._path.name, found)

    def drop(self) -> None:
        """What is not in its place by now is not wanted."""
        self._part.unlink(missing_ok=True)


def _empty(table: str) -> pl.DataFrame:
    from ledger.read.rows import frame

    return frame(table, [])
