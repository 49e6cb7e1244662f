"""Register of acquisitions and dispositions of a period: every in and out of custody or title, by day.

Definition. A row is what one event did to the animals of one number that came into or left the custody of the
house (its enclosures), its title, or both: births, deaths, escapes, recoveries and the differences found by
counts among them, so the register and the roll-forward speak of the same animals. A loan is a movement of
custody alone, a title change of title alone, a death away from home of title alone. What only moves within the
house, or between member houses of the whole book, is not there. The period is of the days on which events
count (a transfer by its arrival); `days` shows the date as it was recorded where that is a range.

Columns: `date`; `days` (possible days in words, where more than one); `number`, `subject`; class, taxon,
common_name, taxon_id, unit, standing; m, f, h, u, `total`, `mfu`; `way` (in, out); `right` (custody and title,
custody, title); `manner` (what happened, in words); `terms`; `party` (from whom, to whom); `source_code` and
`purpose_code` (CITES, W to I and B to Z); `permits` (numbers, joined by commas) and `permit_details` (with authority
and days, of those in the register); `agreement`; `number_there` (at the other party); `sent`, `arrived_alive`,
`dead_on_arrival` (of a shipment, as stated: animals, null where not); `left` and `arrived` (days of a transfer; left
null where it is the same day or not known); `sources` (of what goes out: how many of the number came whence, by what
permit; of young and fragments that come: their parents or source); `origin` (where it was taken, or let go);
`cause` (of deaths; dead_on_arrival of a shipment's); `event` (position of the event in the log) and `told_by`
(position of its newest correction).

Source: what, how many, when, from or to whom, on what terms and by what permit are the facts that published
record duties ask for (standards of the design §1: 16 USC 1374(c)(10), seen; 9 CFR 2.75, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

import polars as pl

from ledger.dates import spoken_range
from ledger.read import Copy, Names, Standing
from reports.common import Basis, Period, by_sex, in_order, mfu_column, seen, tagged
from reports.legs import ROW, moved
from reports.papers import called, id_of, listed, permit_words, permits_of, sources, total

KINDS: Final = (
    *("opening", "hatching", "birth", "acquisition", "transfer", "title_change", "death", "release", "escape"),
    *("missing", "recovery", "count", "propagation", "fed_out", "split", "draw", "join", "merge"),
)
IN: Final = (*("brought_forward", "hatched", "born", "acquired", "transfer_in", "title_in", "recovered"),)
OUT: Final = ("died", "released", "escaped", "missing", "fed_out", "transfer_out", "title_out")
SIGNED: Final = "propagated"  # in, and out where the source was used up; so are differences of counts
BOTH, CUSTODY, TITLE = "custody and title", "custody", "title"
MANNER: Final = {
    "brought_forward": "on hand when the book began",
    "hatched": "hatched",
    "born": "born",
    "propagated": "propagated",
    "recovered": "recovered",
    "died": "died",
    "released": "released",
    "escaped": "escaped",
    "missing": "missing",
    "fed_out": "fed out",
    "count_unaccounted": "count: unaccounted for",
    "count_deaths_unseen": "count: deaths not seen",
    "count_estimate": "count: miscount of the estimate",
    "count_young_unseen": "count: young not seen",
}
WORDS: Final = (
    *("number", "days", "manner", "terms", "party", "source_code", "purpose_code", "permits", "permit_details"),
    *("agreement", "number_there", "sources", "origin", "cause"),
)
SHIPPED: Final = ("sent", "arrived_alive", "dead_on_arrival")
SCHEMA: Final[Mapping[str, Any]] = {
    **dict.fromkeys(WORDS, pl.String),
    **dict.fromkeys((*SHIPPED, "told_by"), pl.Int64),
    **dict.fromkeys(("left", "arrived"), pl.Date),
}


def register(copy: Copy, names: Names, period: Period, known: int, basis: Basis) -> pl.DataFrame:
    """The register of `period` as known at `known`, of the house of `basis`; custody and title always both."""
    lines = seen(copy.lines(period.first, period.last, known), names)
    rows = _rights(lines, basis)
    events = {e.root: e for e in copy.standing(KINDS, known)}
    owners = _owners_before(lines)
    gone = set(rows.filter(pl.col("way") == "out")["subject"])
    came = sources(copy, names, gone, period.last, known, events) if gone else {}
    told = []
    for row in rows.select("effect", "subject", "way", "reason", "counts_on").iter_rows(named=True):
        event = events.get(row["effect"])
        out = _details(copy, names, basis, row, event, owners)
        out["sources"] = _sources(names, row, event, came.get(row["subject"], []))
        told.append(out)
    empty = [pl.lit("").alias(c) for c in ("place", "holder", "owner")]
    return (
        tagged(pl.concat([rows, pl.DataFrame(told, schema=SCHEMA)], how="horizontal").with_columns(*empty), names)
        .rename({"counts_on": "date", "effect": "event"})
        .with_columns(mfu=mfu_column())
        .sort(in_order(["date", "event", "subject", "way", "right"]))
        .select(
            *("date", "days", "number", "subject", "class", "taxon", "common_name", "taxon_id", "unit", "standing"),
            *("m", "f", "h", "u", "total", "mfu", "way", "right", "manner", "terms", "party"),
            *("source_code", "purpose_code", "permits", "permit_details", "agreement", "number_there", *SHIPPED),
            *("left", "arrived", "sources", "origin", "cause", "event", "told_by"),
        )
    )


def _rights(lines: pl.DataFrame, basis: Basis) -> pl.DataFrame:
    """Rows by event, subject, way and right, with m, f, h, u and total; all above zero."""
    key = ["effect", "subject", "counts_on", *ROW, "reason"]
    custody = moved(lines, Basis("held", basis.house)).select(*key, custody="delta")
    title = moved(lines, Basis("owned", basis.house)).select(*key, title="delta")
    both = custody.join(title, on=key, how="full", coalesce=True).with_columns(pl.col("custody", "title").fill_null(0))
    counted = pl.col("reason").str.starts_with("count_") | (pl.col("reason") == SIGNED)
    sum_sign = (pl.col("custody") + pl.col("title")).sign()
    sign = pl.when(pl.col("reason").is_in(IN)).then(1).when(pl.col("reason").is_in(OUT)).then(-1).otherwise(sum_sign)
    shared = pl.when((pl.col("custody") > 0) & (pl.col("title") > 0)).then(pl.min_horizontal("custody", "title"))
    parts = (
        both.filter(pl.col("reason").is_in([*IN, *OUT]) | counted)
        .with_columns(way=pl.when(sign > 0).then(pl.lit("in")).otherwise(pl.lit("out")), sign=sign)
        .with_columns(pl.col("custody", "title") * pl.col("sign"))
        .with_columns(shared=shared.otherwise(0))
        .select(
            *(*key, "way"),
            pl.col("shared").alias(BOTH),
            (pl.col("custody") - pl.col("shared")).alias(CUSTODY),
            (pl.col("title") - pl.col("shared")).alias(TITLE),
        )
        .unpivot(index=[*key, "way"], on=[BOTH, CUSTODY, TITLE], variable_name="right", value_name="n")
        .filter(pl.col("n") != 0)
    )
    group = ["effect", "subject", "counts_on", *(c for c in ROW if c != "sex"), "reason", "way", "right"]
    return parts.group_by(group).agg(by_sex()).sort(group)


def _owners_before(lines: pl.DataFrame) -> dict[tuple[int, str], str]:
    """Who owned before a title change, by event and subject."""
    left = lines.filter(pl.col("reason") == "title_out").select("effect", "subject", "owner")
    return {(effect, subject): owner for effect, subject, owner in left.iter_rows()}


def _details(
    copy: Copy,
    names: Names,
    basis: Basis,
    row: Mapping[str, Any],
    event: Standing | None,
    owners: Mapping[tuple[int, str], str],
) -> dict[str, Any]:
    """What the event itself says: manner, terms, party, codes, permits. Empty where it says nothing."""
    payload = event.payload if event else {}
    terms = str(payload.get("terms") or "").replace("_", " ")
    permits = permits_of(payload)
    source = str(payload.get("source_code") or "")
    out: dict[str, Any] = {
        "number": names.number(row["subject"], basis.house or None),
        "days": spoken_range(event.first, event.last) if event and event.first != event.last else "",
        "manner": _manner(row, payload, terms),
        "terms": terms,
        "party": _party(names, row, payload, owners),
        "source_code": f"{source} pre-Convention".strip() if payload.get("pre_convention") else source,
        "purpose_code": str(payload.get("purpose_code") or ""),
        "permits": ", ".join(called(p) for p in permits),
        "permit_details": permit_words(names, permits),
        "agreement": names.label(id_of(payload.get("agreement"))) or called(payload.get("agreement")),
        "number_there": str(payload.get("number_there") or ""),
        "origin": copy.text(payload.get("where")) or copy.text(payload.get("site")),
        "cause": "",
        "told_by": event.seq if event else row["effect"],
        "left": date.fromisoformat(payload["left"]) if payload.get("left") else None,
        "arrived": row["counts_on"] if event and event.kind == "transfer" else None,
        **{field: total(payload.get(field)) for field in SHIPPED},
    }
    if row["reason"] == "died":
        shipped = event is not None and event.kind == "transfer"
        out["cause"] = str(payload.get("cause") or ("dead_on_arrival" if shipped else "not_determined"))
    return out


def _sources(
    names: Names, row: Mapping[str, Any], event: Standing | None, arrivals: Sequence[tuple[date, int, str]]
) -> str:
    """Of what goes, whence its number's animals came; of what comes by birth or propagation, of whom."""
    if row["way"] == "out":
        return listed(arrivals, row["counts_on"], row["effect"])
    payload = event.payload if event else {}
    fields = [field for field in ("dam", "sire", "made_from") if payload.get(field)]
    return ", ".join(f"{field.replace('_', ' ')} {names.number(id_of(payload[field]))}" for field in fields)


def _manner(row: Mapping[str, Any], payload: Mapping[str, Any], terms: str) -> str:
    reason = str(row["reason"])
    if reason.startswith("transfer"):
        return f"{terms or 'transfer'} {row['way']}"
    if reason.startswith("title"):
        return f"title, by {terms}" if terms else "title"
    if reason == "acquired":
        return str(payload.get("manner") or "acquired").replace("_", " ")
    return MANNER.get(reason, reason.replace("_", " "))


def _party(
    names: Names, row: Mapping[str, Any], payload: Mapping[str, Any], owners: Mapping[tuple[int, str], str]
) -> str:
    """From whom what came, to whom what went; empty where nobody is on the other side."""
    reason, way = str(row["reason"]), row["way"]
    if reason.startswith("transfer"):
        return names.label(id_of(payload.get("from" if way == "in" else "to")))
    if reason == "title_in":
        return names.label(owners.get((row["effect"], row["subject"]), ""))
    if reason == "title_out":
        return names.label(id_of(payload.get("owner")))
    return ""
