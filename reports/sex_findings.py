"""Entries about sex and what each did to figures: a finding, a change, and a finding put right are three things.

Definition. One row an entry of kind sexing or sex change that stands as first recorded, and one for every entry that
corrected or struck one out, as known at the position (`reports/restating.py`): a sexing since birth *restates* the
figures from the arrival on, a completed sex change *re-classes on its day* and moves nothing before, a correction
*replaces* what was said. Entries of days up to the close of `on`.

Columns: `event` (position), `animal` (number), `n` (animals of a lot that it names, else 1), `taxon`, `what` (sexing,
sex change), `stage` (of a change), `from` (empty where the entry says none), `to`, `day` (as entered), `effect`
(restates, re-classes on its day, moves no figure, replaces, struck out), `figures_from` (the first day whose figures
it changed: of no correction only where that is before its own), `figures_to` (then, its own day), `said_before`
(sex and day of what it replaced), `why` (reason of a correction), `recorded` (UTC), `subject` (id). Days are dates,
numbers integers, the rest text.

Source: definitions D23 and D31 of the design.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import polars as pl

from ledger.read import AsOf, Copy, Names
from ledger.words import SEX_OF
from reports.papers import id_of
from reports.restating import KINDS, Effect, effects

SCHEMA: Final[Mapping[str, Any]] = {
    "event": pl.Int64,
    "animal": pl.String,
    "n": pl.Int64,
    **dict.fromkeys(("taxon", "what", "stage", "from", "to", "day", "effect"), pl.String),
    **dict.fromkeys(("figures_from", "figures_to"), pl.Date),
    **dict.fromkeys(("said_before", "why", "recorded", "subject"), pl.String),
}


def sex_findings(copy: Copy, names: Names, asof: AsOf, house: str = "") -> pl.DataFrame:
    """The entries, by position; columns as above. `house` (an id): of animals that were ever in its tanks only."""
    told = effects(copy, asof.known)
    before = {e.root for e in copy.standing(KINDS, asof.known) if e.last > asof.on}
    taxa: dict[str, str] = {}
    houses: dict[str, set[str]] = {}
    spells = copy.spells(asof.known, sorted({_subject(e.payload) for e in told} - {""})).sort("since")
    for subject, taxon, place in spells.select("subject", "taxon", "place").iter_rows():
        taxa[subject] = names.label(taxon)
        houses.setdefault(subject, set()).add(names.house_of(place))
    rows = [
        _row(names, effect, taxa)
        for effect in told
        if effect.root not in before and (not house or house in houses.get(_subject(effect.payload), {house}))
    ]
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def _subject(payload: Mapping[str, Any]) -> str:
    return id_of(payload.get("animal")) or id_of(payload.get("lot"))


def _row(names: Names, effect: Effect, taxa: Mapping[str, str]) -> dict[str, Any]:
    p, subject = effect.payload, _subject(effect.payload)
    amount = {SEX_OF.get(k, k): int(v) for k, v in (p.get("how_many") or {}).items() if v}
    return {
        "event": effect.seq,
        "animal": names.number(subject),
        "n": sum(amount.values()) or 1,
        "taxon": taxa.get(subject, ""),
        "what": effect.kind.replace("_", " "),
        "stage": str(p.get("stage") or "").replace("_", " "),
        "from": str(p.get("was") or "") or ", ".join(amount),
        "to": str(p.get("to") or ""),
        "day": effect.edtf,
        "effect": effect.effect,
        "figures_from": effect.figures_from,
        "figures_to": effect.figures_to,
        "said_before": f"{effect.was.get('to')}, {effect.was_edtf}" if effect.was else "",
        "why": effect.reason.replace("_", " "),
        "recorded": effect.recorded,
        "subject": subject,
    }
