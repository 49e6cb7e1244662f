"""What a person would do instead: the animals of one day, by taxon and sex, from a table of events.

Single animals only, and every row already bears the whole state after it: less than the book answers, told so.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator

import polars as pl

from ledger.read import Copy
from tests.bench.clock import Row, least, row
from tests.bench.reading import ON

FLAT = """
with newest as (
    select *, row_number() over (partition by root order by seq desc) as place from event
    where kind in ('hatching', 'move', 'sexing', 'death', 'transfer', 'void')
)
select
    root as seq, known_from, last_day as day, payload ->> '$.animal.id' as subject, payload ->> '$.taxon.id' as taxon,
    case when kind in ('death', 'transfer') then 'gone'
        else coalesce(payload ->> '$.enclosure.id', if(kind = 'move', payload ->> '$.to.id', null)) end as place,
    coalesce(payload ->> '$.sex', if(kind = 'sexing', payload ->> '$.to', null)) as sex
from newest
where place = 1 and kind <> 'void' and payload ->> '$.animal.id' is not null
"""
WINDOW = """
select taxon, sex, count(*) from (
    select *, row_number() over (partition by subject order by day desc, seq desc) as place
    from flat where day <= ? and known_from <= ?
) where place = 1 and where_ <> 'gone' group by taxon, sex
"""


def flat(copy: Copy) -> pl.DataFrame:
    """The events of single animals as a table with the state after each."""
    copy._tables.need("named")
    copy._tables.need("events_at")
    events = copy._db.sql(FLAT).pl().sort("subject", "day", "seq")
    states = pl.col("taxon", "place", "sex").forward_fill().over("subject")
    return events.with_columns(states).sort("seq")


def _by_pandas(table: pl.DataFrame, known: int) -> Callable[[], object] | None:
    """None where pandas is not there: the book does not need it."""
    try:
        import pandas as pd
    except ImportError:
        return None
    frame = table.to_pandas()
    day = pd.Timestamp(ON)

    def ask() -> object:
        seen = frame[(frame["day"] <= day) & (frame["known_from"] <= known)].sort_values(["day", "seq"])
        last = seen.groupby("subject")[["taxon", "place", "sex"]].last()
        return last[last["place"] != "gone"].groupby(["taxon", "sex"]).size()

    return ask


def instead(copy: Copy, size: str, times: int = 3) -> Iterator[Row]:
    """Each other way beside the census of the book, in memory; `ratio` is how many times slower the other is."""
    known = copy.head.position
    table = flat(copy)
    copy.population([ON], known)
    ours = least(lambda: copy.population([ON], known))

    def by_polars() -> object:
        seen = table.lazy().filter((pl.col("day") <= ON) & (pl.col("known_from") <= known)).sort("day", "seq")
        last = seen.group_by("subject").agg(pl.col("taxon", "place", "sex").last())
        return last.filter(pl.col("place") != "gone").group_by("taxon", "sex").len().collect()

    rows = table.rows()

    def by_python() -> object:
        last: dict[str, tuple] = {}
        for line in sorted((r for r in rows if r[2] <= ON and r[1] <= known), key=lambda r: (r[2], r[0])):
            last[line[3]] = line
        count: dict[tuple[str, str], int] = {}
        for line in last.values():
            if line[5] != "gone":
                count[line[4], line[6]] = count.get((line[4], line[6]), 0) + 1
        return count

    db = sqlite3.connect(":memory:")
    db.execute(
        "create table flat (seq integer primary key, known_from int, day text, subject text, taxon text, where_ text,"
        " sex text)"
    )
    db.executemany("insert into flat values (?, ?, ?, ?, ?, ?, ?)", [(*r[:2], r[2].isoformat(), *r[3:]) for r in rows])
    db.execute("create index by_subject on flat (subject, day, seq)")

    def by_sqlite() -> object:
        return db.execute(WINDOW, (ON.isoformat(), known)).fetchall()

    ways = {
        "polars, last of a group": by_polars,
        "pandas, last of a group": _by_pandas(table, known),
        "SQLite, a window": by_sqlite,
        "plain Python, a replay": by_python,
    }
    for name, do in ways.items():
        if do is not None:
            yield row(f"instead: {name}, {len(rows)} events of {size}", least(do, times), ours, 0)
