"""On how many days of its wait an animal had a possible mate beside it: the clock of the second curve of `waiting`.

Definition. A possible mate of x on d is another animal, or one of a lot, that stood at its close in the same
enclosure (`in_house`: in an enclosure of the same house), of the same taxon, adult or of unknown age, of
complementary sex: male with female; unknown and hermaphrodite with any; any with any in taxa that change both ways;
and in taxa of one mate not bonded. Adult is who reached the taxon's lower stated `maturity_age`; the age of what was
not born in a house of this book and has no stated birth is unknown. The day of the event had a possible mate,
whatever stood in the tank at its close. Days are those from the end of the bond on, both ends inside. Delayed
episodes have none: their company before they came is not known.

Source: definition D4 of the design, derived.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, Final

import polars as pl

from ledger.dates import End, parse
from ledger.read import AsOf, Copy, Names
from reports.bonds import Bond, Bonds
from reports.waits import Wait

_DAYS: Final = {"d": 1, "day": 1, "days": 1, "month": 30, "months": 30, "year": 365, "years": 365, "y": 365}
_SPAN: Final[dict[str, Any]] = {"key": pl.Int64, "first": pl.Date, "stop": pl.Date}
_ASKED: Final[dict[str, Any]] = {
    **_SPAN,
    **dict.fromkeys(("subject", "taxon", "sex", "at"), pl.String),
    "both_ways": pl.Boolean,
}


def mate_days(
    copy: Copy, names: Names, asof: AsOf, found: Bonds, waits: Sequence[Wait], *, in_house: bool
) -> dict[tuple[int, str], int]:
    """Days with a possible mate, by (pair, subject), of every own episode."""
    own = [w for w in waits if w.episode and w.entry == -1]
    if not own:
        return {}
    asked = _asked(names, found, own, in_house=in_house)
    events = [
        {"key": n, "first": day, "stop": day + timedelta(days=1)}
        for n, w in enumerate(own)
        if w.event and (day := _last(w)) is not None
    ]
    mates = _mates(copy, names, asof, found, {w.taxon_id for w in own}, in_house=in_house)
    both = asked.join(mates, on=["taxon", "at"], suffix="_mate").filter(
        pl.col("subject") != pl.col("subject_mate"),
        pl.col("both_ways") | _complementary(),
    )
    spans = both.select(
        "key",
        pl.max_horizontal("first", "first_mate").alias("first"),
        pl.min_horizontal("stop", "stop_mate").alias("stop"),
    ).filter(pl.col("first") < pl.col("stop"))
    days = _union(pl.concat([spans, pl.DataFrame(events, schema=_SPAN)]))
    return {(w.pair, w.subject): days.get(n, 0) for n, w in enumerate(own)}


def _last(wait: Wait) -> date | None:
    return None if wait.end is None or wait.exit is None else wait.end + timedelta(days=wait.exit)


def _complementary() -> pl.Expr:
    known = pl.col("sex").is_in(["male", "female"]) & pl.col("sex_mate").is_in(["male", "female"])
    return ~known | (pl.col("sex") != pl.col("sex_mate"))


def _asked(names: Names, found: Bonds, own: Sequence[Wait], *, in_house: bool) -> pl.DataFrame:
    """Where those who wait stood, day by day of their wait."""
    both_ways = {t.id for t in names.of("taxon") if t.fields.get("sexual_system") == "both_ways"}
    rows = []
    for key, wait in enumerate(own):
        last = _last(wait)
        assert wait.end is not None
        assert last is not None
        stop = last + timedelta(days=1)
        for s in found.own[wait.subject]:
            first, until = max(s.since, wait.end), min(s.until or stop, stop)
            if s.on_hand and first < until:
                at = s.holder if in_house else s.place
                rows.append((key, first, until, wait.subject, wait.taxon_id, s.sex, at, wait.taxon_id in both_ways))
    return pl.DataFrame(rows, schema=_ASKED, orient="row")


def _mates(copy: Copy, names: Names, asof: AsOf, found: Bonds, taxa: Iterable[str], *, in_house: bool) -> pl.DataFrame:
    """Who could be a mate, where and when: subject, taxon, sex, at, first, stop."""
    wanted = set(taxa)
    every = wanted | {old for old, new in names.united.items() if new in wanted}
    after = asof.on + timedelta(days=1)
    spells = (
        copy.spells(asof.known)
        .filter(
            (pl.col("n") > 0)
            & (pl.col("since") <= asof.on)
            & pl.col("place").str.starts_with("e-")
            & pl.col("taxon").is_in(sorted(every))
        )
        .select(
            "subject",
            pl.col("taxon").replace(names.united),
            "sex",
            pl.col("holder" if in_house else "place").alias("at"),
            pl.col("since").alias("first"),
            pl.min_horizontal(pl.col("until").fill_null(after), pl.lit(after)).alias("stop"),
            pl.when(pl.col("since_reason").is_in(["hatched", "born"])).then("since").alias("born"),
        )
    )
    ages = {t: _maturity(names, t) for t in wanted}
    stated = _stated(copy, asof)
    adult = (
        spells.join(stated, on="subject", how="left")
        .with_columns(pl.coalesce("stated", pl.col("born").min().over("subject")).alias("born"))
        .with_columns(pl.col("taxon").replace_strict(ages, return_dtype=pl.Int64).alias("age"))
        .with_columns(
            pl.max_horizontal(
                "first", pl.when(pl.col("age") > 0).then(pl.col("born") + pl.duration(days="age")).cast(pl.Date)
            ).alias("first")
        )
        .filter(pl.col("first") < pl.col("stop"))
        .select("subject", "taxon", "sex", "at", "first", "stop")
    )
    return _free(adult, names, found)


def _stated(copy: Copy, asof: AsOf) -> pl.DataFrame:
    """Last possible days of births stated with an arrival: subject, stated."""
    parts = {"animal": "$.animal.id", "lot": "$.lot.id", "born": "$.born"}
    told = copy.told(("opening", "acquisition", "transfer"), parts, asof.known).filter(pl.col("born").is_not_null())
    rows = []
    for animal, lot, born, last in told.select("animal", "lot", "born", "last_day").iter_rows():
        end = parse(born).last
        rows.append((animal or lot, last if isinstance(end, End) else min(date(*end), last)))
    return pl.DataFrame(rows, schema={"subject": pl.String, "stated": pl.Date}, orient="row").unique("subject")


def _maturity(names: Names, taxon: str) -> int:
    """The taxon's lower stated age at maturity, in days; 0 where none is stated."""
    thing = names.thing(taxon)
    for fact in (thing.fields.get("facts") or ()) if thing else ():
        unit = _DAYS.get(str(fact.get("unit")))
        if fact.get("fact") == "maturity_age" and unit:
            return int(float(fact["low"]) * unit)
    return 0


def _free(mates: pl.DataFrame, names: Names, found: Bonds) -> pl.DataFrame:
    """Without the days on which animals of a taxon of one mate were bonded."""
    one_mate = {t.id for t in names.of("taxon") if t.fields.get("mates") == "one"}
    bonded: Mapping[str, Sequence[Bond]] = found.of()
    held = pl.col("subject").is_in(sorted(bonded)) & pl.col("taxon").is_in(sorted(one_mate))
    rows = []
    for row in mates.filter(held).iter_rows():
        *cell, first, stop = row
        for bond in bonded[row[0]]:  # by start
            if bond.start < stop and bond.stop > first:
                if first < bond.start:
                    rows.append((*cell, first, bond.start))
                first = max(first, bond.stop)
        if first < stop:
            rows.append((*cell, first, stop))
    return pl.concat([mates.filter(~held), pl.DataFrame(rows, schema=mates.schema, orient="row")])


def _union(spans: pl.DataFrame) -> dict[int, int]:
    """Days covered by spans, once each, by key."""
    until = pl.col("stop").cum_max().shift(1).over("key", order_by=["first", "stop"])
    days = (
        spans.with_columns(pl.max_horizontal("first", until).alias("first"))
        .select("key", (pl.col("stop") - pl.col("first")).dt.total_days().clip(0).alias("days"))
        .group_by("key")
        .agg(pl.col("days").sum())
    )
    return dict(days.iter_rows())
