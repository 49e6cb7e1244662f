"""Register of acquisitions and dispositions of a period: every in and out of custody or title, by day.

Definition. A row is what one event did to the animals of one number that came into or left the custody of the
house (its enclosures), its title, or both: births, deaths, escapes, recoveries and the differences found by
counts among them, so the register and the roll-forward speak of the same animals. A loan is a movement of
custody alone, a title change of title alone, a death away from home of title alone. What only moves within the
house, or between member houses of the whole book, is not there. The period is of the days on which events
count; `days` shows the date as it was recorded where that is a range.

Columns: `date`; `days` (possible days in words, where more than one); `number`, `subject`; class, taxon,
common_name, taxon_id, unit, standing; m, f, h, u, `total`, `mfu`; `way` (in, out); `right` (custody and title,
custody, title); `manner` (what happened, in words); `terms`; `party` (from whom, to whom); `source_code` and
`purpose_code` (CITES, W to I and B to Z); `permits` (joined by commas); `origin` (where it was taken, or let go);
`cause` (of deaths); `event` (position of the event in the log) and `told_by` (position of its newest correction).

Source: what, how many, when, from or to whom, on what terms and by what permit are the facts that published
record duties ask for (standards of the design §1: 16 USC 1374(c)(10), seen; 9 CFR 2.75, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import polars as pl

from ledger.dates import spoken_range
from ledger.read import Copy, Names, Standing
from reports.common import Basis, Period, by_sex, in_order, mfu_column, tagged
from reports.legs import ROW, moved

KINDS: Final = (
    *("opening", "hatching", "birth", "acquisition", "transfer", "title_change", "death", "release", "escape"),
    *("missing", "recovery", "count"),
)
IN: Final = (*("brought_forward", "hatched", "born", "propagated", "acquired", "transfer_in", "title_in", "recovered"),)
OUT: Final = ("died", "released", "escaped", "missing", "fed_out", "transfer_out", "title_out")
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
DETAILS: Final = (
    *("number", "days", "manner", "terms", "party", "source_code", "purpose_code", "permits", "origin", "cause"),
    "told_by",
)


def register(copy: Copy, names: Names, period: Period, known: int, basis: Basis) -> pl.DataFrame:
    """The register of `period` as known at `known`, of the house of `basis`; custody and title always both."""
    lines = copy.lines(period.first, period.last, known)
    rows = _rights(lines, basis)
    events = {e.root: e for e in copy.standing(KINDS, known)}
    owners = _owners_before(lines)
    told = [
        _details(copy, names, basis, row, events.get(row["effect"]), owners)
        for row in rows.select("effect", "subject", "way", "reason").iter_rows(named=True)
    ]
    schema = {**dict.fromkeys(DETAILS, pl.String), "told_by": pl.Int64}
    empty = [pl.lit("").alias(c) for c in ("place", "holder", "owner")]
    return (
        tagged(pl.concat([rows, pl.DataFrame(told, schema=schema)], how="horizontal").with_columns(*empty), names)
        .rename({"counts_on": "date", "effect": "event"})
        .with_columns(mfu=mfu_column())
        .sort(in_order(["date", "event", "subject", "way", "right"]))
        .select(
            *("date", "days", "number", "subject", "class", "taxon", "common_name", "taxon_id", "unit", "standing"),
            *("m", "f", "h", "u", "total", "mfu", "way", "right", "manner", "terms", "party"),
            *("source_code", "purpose_code", "permits", "origin", "cause", "event", "told_by"),
        )
    )


def _rights(lines: pl.DataFrame, basis: Basis) -> pl.DataFrame:
    """Rows by event, subject, way and right, with m, f, h, u and total; all above zero."""
    key = ["effect", "subject", "counts_on", *ROW, "reason"]
    custody = moved(lines, Basis("held", basis.house)).select(*key, custody="delta")
    title = moved(lines, Basis("owned", basis.house)).select(*key, title="delta")
    both = custody.join(title, on=key, how="full", coalesce=True).with_columns(pl.col("custody", "title").fill_null(0))
    counted = pl.col("reason").str.starts_with("count_")
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
    group = ["effect", "subject", "counts_on", "taxon", "standing", "reason", "way", "right"]
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
    out: dict[str, Any] = dict.fromkeys(DETAILS, "")
    out["number"] = names.number(row["subject"], basis.house or None)
    out["told_by"] = event.seq if event else row["effect"]
    payload = event.payload if event else {}
    if event and event.first != event.last:
        out["days"] = spoken_range(event.first, event.last)
    terms = str(payload.get("terms") or "").replace("_", " ")
    out["terms"] = terms
    out["manner"] = _manner(row, payload, terms)
    out["party"] = _party(names, row, payload, owners)
    for field in ("source_code", "purpose_code"):
        out[field] = str(payload.get(field) or "")
    if payload.get("pre_convention"):
        out["source_code"] = f"{out['source_code']} pre-Convention".strip()
    permits = [*payload.get("permits", []), *([payload["permit"]] if payload.get("permit") else [])]
    out["permits"] = ", ".join(str(p) for p in permits)
    out["origin"] = copy.text(payload.get("where")) or copy.text(payload.get("site"))
    if row["reason"] == "died":
        out["cause"] = str(payload.get("cause") or "not_determined")
    return out


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
        return names.label(_id(payload.get("from" if way == "in" else "to")))
    if reason == "title_in":
        return names.label(owners.get((row["effect"], row["subject"]), ""))
    if reason == "title_out":
        return names.label(_id(payload.get("owner")))
    return ""


def _id(value: Any) -> str:
    return str(value.get("id") or "") if isinstance(value, dict) else ""
