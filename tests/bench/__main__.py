"""`python -m tests.bench [--events N] [--format json] [--books FOLDER] [--load N]`: measures beside their floors.

Up to a million events a book is written in bulk, in SQLite, by the book's own bytes, chain, fold and postings; ten
million are the segments of a million told ten times over (`large.py`). Writing is measured on smaller books (`--load`,
100,000 events for one event at a time): it does not hang on the size of the log, and a large book takes long to make.
"""

from __future__ import annotations

import argparse
import gc
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ledger.book import Book
from ledger.read import Copy
from ledger.read.segments import write
from ledger.store.places import open_store
from tests.bench import others, reading, writing
from tests.bench.books import Bulk, Chance, begin, in_bulk
from tests.bench.clock import Row, once
from tests.bench.large import tenfold
from tests.bench.world import World

MILLION = 1_000_000
SEED = 7


def tell(text: str) -> None:
    """Progress, beside the rows."""
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def made(folder: Path, events: int) -> Path:
    """A book of so many events with its segments; taken again where it stands already."""
    path = folder / f"book-{events}.tidemark"
    if not path.exists():
        part = folder / f"making-{events}.tidemark"
        part.unlink(missing_ok=True)
        book, chance, world = begin(str(part), SEED)
        start = time.perf_counter()
        in_bulk(
            book,
            chance,
            world,
            events,
            lambda n: tell(f"  {n} events, {(time.perf_counter() - start) / n * 1e6:.0f} µs each"),
        )
        book.close()
        part.rename(path)
        gc.collect()
    store = open_store(str(path), write=True)
    if not store.segments():
        took, _ = once(lambda: write(store))
        tell(f"  segments written in {took:.1f} s")
    store.close()
    return path


def measured(folder: Path, events: int) -> Iterator[Row]:
    """All measures at one size."""
    size = f"{events / MILLION:g} M" if events >= MILLION else f"{events // 1000} k"
    path = made(folder, min(events, MILLION))
    store: Any = open_store(str(path))
    opened = f"open_store({str(path)!r})"
    if events > MILLION:
        place = folder / "tenfold.tidemark"
        store, opened = tenfold(path, place), f"listed_at(Path({str(place)!r}))"
    on_disk = Copy(store)
    yield from reading.questions(on_disk, "segments", size, disk=True)
    yield reading.a_new_process(opened, reading.segments_of(store), size)
    subject = on_disk._db.sql("select subject from posting where starts_with(subject, 'a-') limit 1").fetchall()[0][0]
    yield reading.a_life(on_disk, subject, size)
    in_memory = Copy(store)
    in_memory.into_memory()
    yield from reading.questions(in_memory, "memory", size, disk=False)
    yield reading.a_life(in_memory, subject, f"{size}, memory")
    yield from others.instead(in_memory, size)
    if events <= MILLION:
        yield reading.pair_histories(in_memory, size)
        yield refreshed(folder, path, size)


def refreshed(folder: Path, path: Path, size: str) -> Row:
    """A thousand new events, of another world, into an open copy of a copied book."""
    place = folder / "grows.tidemark"
    shutil.copyfile(path, place)
    where = Path(f"{place}.segments")
    shutil.rmtree(where, ignore_errors=True)
    shutil.copytree(f"{path}.segments", where)
    store = open_store(str(place), write=True)
    copy = Copy(store)
    copy.population([reading.ON], copy.head.position)
    world = World(SEED + 1, "h-0000000000")
    pages = world.batches(len(world.register) + 1_000)
    add = [event for batch in pages for event in batch.events if event.kind not in writing.REGISTER]
    bulk = Bulk(store, Chance(SEED + 1), "p-0000000000")
    got = writing.refreshed(copy, add, bulk, "2024-03-01T08:00:00Z", place, size)
    store.close()
    place.unlink()
    shutil.rmtree(where)
    return got


def recorded(folder: Path) -> Iterator[Row]:
    """One event in an open process, of an animal and of a lot with 3,000 events, in a book of 100,000."""
    place = folder / "records.tidemark"
    shutil.copyfile(made(folder, 100_000), place)
    book = Book(open_store(str(place), write=True), write=True, chance=Chance(SEED + 2))
    yield from writing.recorded(book, folder)
    book.close()
    place.unlink()


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    asked.add_argument("--events", type=int, default=100_000, help="100000, 1000000 or 10000000")
    asked.add_argument("--format", choices=("table", "json"), default="table")
    asked.add_argument("--books", type=Path, help="a folder that keeps the books made; without it they are thrown away")
    asked.add_argument("--load", type=int, default=50_000, help="events of the file that is loaded; 0 for none")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = given.books or Path(scratch)
        folder.mkdir(exist_ok=True)
        rows = []
        for row in measured(folder, given.events):
            tell(f"  {row.measure}: {row.ratio}")
            rows.append(row)
        if given.load:
            rows += recorded(folder)
            rows += writing.loaded(folder, given.load)
    sys.stdout.write(reading.said(rows, given.format) + "\n")


if __name__ == "__main__":
    main()
