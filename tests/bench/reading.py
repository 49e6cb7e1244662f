"""Measures of reading: each question beside a DuckDB scan and filtered sum of the same columns, in the same storage."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from datetime import date

from ledger.read import Copy
from ledger.read.segments import folder
from tests.bench.clock import Row, both, least, row

ON = date(2019, 6, 30)
MONTHS = [date(y, m, 28) for y in range(2004, 2024) for m in range(1, 13)]
SCAN = """select sum(delta), count(*) from {posting}
where counts_on <= $on and known_from <= $known and taxon <> '' and sex <> '' and starts_with(place, 'e-')"""
YEAR = """select sum(delta), count(*) from {posting}
where counts_on <= $on and known_from <= $known and taxon <> '' and reason <> '' and starts_with(place, 'e-')"""


def questions(copy: Copy, where: str, size: str, *, disk: bool) -> Iterator[Row]:
    """Census, roll-forward, month ends, on a copy in memory or on its segments."""
    known = copy.head.position
    asked = {"on": ON, "known": known}

    def scan(text: str) -> object:
        copy._tables.need("population_on")
        return copy._db.sql(text.format(posting="posting"), params=asked).fetchall()

    reach = 2 if disk else 5
    name = f"census by taxon and sex, {size}, {where}"
    yield row(name, *both(lambda: copy.population([ON], known), lambda: scan(SCAN)), reach)
    early = {"on": date(2012, 3, 5), "known": copy.ends()[len(copy.ends()) // 2][1]}
    past = both(
        lambda: copy.population([early["on"]], early["known"]),
        lambda: copy._db.sql(SCAN.format(posting="posting"), params=early).fetchall(),
    )
    yield row(f"the same on an earlier day as known earlier, {size}, {where}", *past, reach)
    year = both(lambda: copy.movements(date(2019, 1, 1), date(2019, 12, 31), known), lambda: scan(YEAR))
    yield row(f"roll-forward of all taxa, one year, {size}, {where}", *year, 5)
    months = both(lambda: copy.population(MONTHS, known), lambda: scan(SCAN), 3)
    yield row(f"240 month-end censuses, {size}, {where}", *months, 12)


CHILD = """
import time, sys
from pathlib import Path
start = time.perf_counter()
import duckdb, polars, pyarrow
from ledger.read import Copy
from ledger.store.places import open_store
from tests.bench import reading
from tests.bench.large import listed_at
imports = time.perf_counter() - start
start = time.perf_counter()
{do}
print(imports, time.perf_counter() - start)
"""
OPEN = """
copy = Copy({store})
copy.population([reading.ON], copy.head.position)
"""
BARE = """
db = duckdb.connect()
db.execute("set threads = 2")
db.sql(reading.SCAN.format(posting="read_parquet({files})"), params={{"on": reading.ON, "known": 2**62}}).fetchall()
"""


def a_new_process(opened: str, files: list[str], size: str) -> Row:
    """Open the book and answer a census, against that scan; imports apart."""

    def run(do: str) -> tuple[float, float]:
        text = CHILD.format(do=do)
        done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=True)
        imports, took = map(float, done.stdout.split())
        return took, imports

    ours, floor = [], []
    for _ in range(3):
        ours.append(run(OPEN.format(store=opened)))
        floor.append(run(BARE.format(files=files)))
    note = f"imports {min(i for _, i in ours):.2f} s apart"
    return row(f"open and answer a census, new process, {size}", min(ours)[0], min(floor)[0], 2, note)


def segments_of(store) -> list[str]:
    """Paths of its segments of postings."""
    return [str(folder(store) / s.file) for s in store.segments() if s.holds == "posting"]


def a_life(copy: Copy, subject: str, size: str) -> Row:
    """All that is known of one animal: its events and its journal lines, against an indexed SELECT of its rows."""
    known = copy.head.position

    def life() -> None:
        events = copy.story([subject], known)
        copy.story_lines([subject], [e.known_from for e in events], known)

    life()
    took = least(life, 9)
    return Row(f"one animal's life, warm, {size}", round(took, 4), 0.02, round(took / 0.02, 2), 1, "floor: 20 ms")


PAIRED = """select count(*), sum(strlen(payload)) from event
where known_from <= $known and kind in ('pairing', 'parting', 'courtship', 'brood')"""
STOOD = """select count(*), sum(delta) from posting where known_from <= $known and subject in (
    select unnest([json_extract_string(payload, '$.a.id'), json_extract_string(payload, '$.b.id')])
    from event where kind = 'pairing')"""


def pair_histories(copy: Copy, size: str) -> Row:
    """All pair histories of the book, against a scan of the entries about pairs and of the lines of those paired."""
    from ledger.read import AsOf, Names
    from reports.pair_page import Question

    asof = AsOf(date(2023, 12, 31), copy.head.position)
    names = Names(copy, asof)
    known = {"known": asof.known}
    took = least(lambda: Question(copy, names, asof, "").pairs, 1)
    floor = least(lambda: [copy._db.sql(text, params=known).fetchall() for text in (PAIRED, STOOD)], 3)
    bonds = Question(copy, names, asof, "").bonds.bonds
    return row(f"pair histories, {size}", took, floor, 10, f"{len(bonds):,} bonds")


def said(rows: list[Row], form: str) -> str:
    """The rows as a table or as JSON."""
    if form == "json":
        return json.dumps([r._asdict() for r in rows], indent=1)
    wide = max(len(r.measure) for r in rows)
    lines = [f"{'measure':{wide}}  seconds  floor_seconds  ratio  reach"]
    for r in rows:
        reach = f"{r.reach:g}" if r.reach else ""
        lines.append(
            f"{r.measure:{wide}}  {r.seconds:7.4f}  {r.floor_seconds:13.4f}  {r.ratio:5.2f}  {reach:>5}  {r.note}"
        )
    return "\n".join(lines)
