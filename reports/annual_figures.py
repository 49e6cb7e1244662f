"""Frames of the annual report: put together from the reports, summed where the page shows sums, nothing drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import polars as pl

from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, Proof, position_of
from reports import ages, census, corrections, open_items, over_time, register, rollforward
from reports.common import OURS_ELSEWHERE, OURS_HERE, Basis, Period
from reports.tables import number, short

COLLECTION: Final = "collection"
ANIMALS: Final = "animals"
STEPS: Final = (  # column, words under its bar, direction
    ("brought_forward", "Brought|forward", 1),
    ("hatched_and_born", "Hatched,|born", 1),
    ("propagated", "Propagated", 1),
    ("acquired", "Acquired", 1),
    ("transfer_in", "In by|transfer", 1),
    ("title_in", "Title|in", 1),
    ("recovered", "Recovered", 1),
    ("died_within_30", "Died|by day {limit}", -1),
    ("died_older", "Died|later", -1),
    ("died_age_unknown", "Died, age|not sure", -1),
    ("transfer_out", "Out by|transfer", -1),
    ("title_out", "Title|out", -1),
    ("released", "Released", -1),
    ("escaped_missing", "Escaped,|missing", -1),
    ("fed_out", "Fed out", -1),
    ("standing_changed", "Standing|changed", 1),
    ("count_difference", "Count|difference", 1),
)

CAUSES: Final = {"disease_infectious": "infectious disease", "disease_other": "other disease"}

NOT_SEEN: Final = "not seen, found by a count"

PLACES: Final = ("section", "enclosure", "purpose", "taxon")


@dataclass(frozen=True)
class Asked:
    """What the page is asked: period, house and basis, position, limit of the young in days, whether names of today."""

    period: Period
    basis: Basis
    known: int
    limit: int
    today_names: bool = False


@dataclass(frozen=True)
class Figures:
    """Everything the page shows, as frames: the roll-forward, the census at both ends, the series, the register."""

    asked: Asked
    names: Names
    recorded: str  # when the last event known was recorded, UTC
    rolled: pl.DataFrame
    closing: pl.DataFrame  # census by taxon, all three sides
    opening: pl.DataFrame
    places: pl.DataFrame  # census by section, enclosure and taxon, held
    elsewhere: pl.DataFrame  # census by taxon, holder and owner: what is not both ours and here
    lost: pl.DataFrame
    series: pl.DataFrame
    moves: pl.DataFrame  # the register
    corrected: pl.DataFrame  # corrections recorded in the period
    completed: pl.DataFrame  # entries completed in it by what was learnt
    open: pl.DataFrame  # open items at the close
    late: pl.DataFrame  # entries about days up to the period's end, recorded after it
    proof: Proof


def gather(copy: Copy, asked: Asked) -> Figures:
    """Ask every report once."""
    period, basis, known = asked.period, asked.basis, asked.known
    ends = [AsOf(period.eve, known), AsOf(period.last, known)]
    names = Names(copy, ends[1], today_names=asked.today_names)
    three = Basis("both", basis.house)
    batches = copy.ends()
    before = position_of(period.last, batches, names.zone)
    return Figures(
        asked=asked,
        names=names,
        recorded=next((at for _, last, at in batches if last == known), ""),
        rolled=rollforward.rollforward(copy, names, period, known, basis, limit=asked.limit),
        closing=census.census(copy, names, ends[1], three, ["taxon"]),
        opening=census.census(copy, names, ends[0], three, ["taxon"]),
        places=census.census(
            copy, names, ends[1], Basis("held", basis.house), ["section", "enclosure", "purpose", "taxon"]
        ),
        elsewhere=census.census(copy, names, ends[1], three, ["taxon", "holder", "owner"]).filter(
            (pl.col("whose") != OURS_HERE) | (pl.col("standing") != COLLECTION)
        ),
        lost=census.lost(copy, names, ends[1], basis),
        series=over_time.over_time(copy, names, over_time.month_ends(*period), known, basis),
        moves=register.register(copy, names, period, known, basis),
        corrected=corrections.corrections(copy, names, period, known, basis),
        completed=corrections.completed(copy, names, period, known, basis),
        open=open_items.open_items(copy, names, ends[1], basis.house),
        late=copy.late(period.last, min(before, known), known),
        proof=copy.proof(known),
    )


def summed(frame: pl.DataFrame, *columns: str) -> int:
    """Sum of columns, of those that are there."""
    return sum(total(frame, c) for c in columns if c in frame.columns)


def main(frame: pl.DataFrame, unit: str = ANIMALS) -> pl.DataFrame:
    """The collection, in one unit: what headline figures count."""
    return frame.filter((pl.col("standing") == COLLECTION) & (pl.col("unit") == unit))


def on_basis(frame: pl.DataFrame, basis: Basis) -> pl.DataFrame:
    """A census of all three sides, less the side the basis does not count."""
    left_out = {"held": [OURS_ELSEWHERE], "owned": ["others_here"], "both": []}[basis.how]
    return frame.filter(~pl.col("whose").is_in(left_out))


def total(frame: pl.DataFrame, column: str = "total") -> int:
    """Sum of a column as an int; 0 of an empty frame."""
    return int(frame[column].sum())


def ranged(frame: pl.DataFrame) -> tuple[int, int | None, int | None]:
    """Total, low and high over rows; a range that is not known in one row is not known of the sum."""
    unknown = frame["low"].null_count() or frame["high"].null_count()
    return total(frame), None if unknown else total(frame, "low"), None if unknown else total(frame, "high")


def steps(figures: Figures) -> tuple[pl.DataFrame, int]:
    """The waterfall: label, start, end, kind, text; and the number at which its scale may begin."""
    rolled, period = main(figures.rolled), figures.asked.period
    opening, closing = total(rolled, "opening"), total(rolled, "closing")
    at = opening
    rows: list[dict[str, Any]] = [_end(f"On|{short(period.first)}", opening)]
    for column, label, direction in STEPS:
        change = direction * total(rolled, column) if column in rolled.columns else 0
        if change:
            words = label.format(limit=figures.asked.limit)
            kind = "in" if change > 0 else "out"
            rows.append(
                {"label": words, "start": at, "end": at + change, "kind": kind, "text": number(change, sign=True)}
            )
            at += change
    rows.append(_end(f"On|{short(period.last)}", closing))
    lowest = min([closing, *(min(r["start"], r["end"]) for r in rows[1:-1]), opening])
    spread = max(r["end"] for r in rows) - lowest
    floor = (lowest - spread // 3) // 50 * 50 if lowest > 2 * spread else 0
    return pl.DataFrame(rows), max(floor, 0)


def _end(label: str, n: int) -> dict[str, Any]:
    return {"label": label, "start": 0, "end": n, "kind": "end", "text": f"{n:,}"}


def by_taxon(figures: Figures) -> list[dict[str, Any]]:
    """The roll-forward, a row a taxon: opening, re_sexed and closing by sex (`opening.m` …), the rest summed."""
    rolled = figures.rolled
    split = ("opening", "re_sexed", "closing")
    movements = [c for c in rolled.columns if c not in (*rollforward.WHO, *split, "adds_up")]
    letters = {"male": "m", "female": "f", "hermaphrodite": "h", "unknown": "u"}
    keys = [k for k in rollforward.WHO if k != "sex"]
    wide = rolled.group_by(keys, maintain_order=True).agg(
        *(pl.col(c).sum() for c in movements),
        *(
            pl.col(c).filter(pl.col("sex") == sex).sum().alias(f"{c}.{letter}")
            for c in split
            for sex, letter in letters.items()
        ),
    )
    return wide.to_dicts()


def deaths(figures: Figures) -> pl.DataFrame:
    """Deaths among the animals of the basis by cause: what, n; the commonest first, what was not determined last."""
    rights = {"held": ("custody", "custody and title"), "owned": ("title", "custody and title")}
    wanted = rights.get(figures.asked.basis.how, rights["held"])
    unseen = pl.col("manner") == register.MANNER["count_deaths_unseen"]
    died = (pl.col("manner") == "died") | (unseen & (pl.col("way") == "out"))
    dead = main(figures.moves).filter(died & pl.col("right").is_in(wanted))
    return (
        dead.with_columns(cause=pl.when(unseen).then(pl.lit(NOT_SEEN)).otherwise("cause"))
        .group_by("cause")
        .agg(pl.col("total").sum().alias("n"))
        .with_columns(
            what=pl.col("cause").replace(CAUSES).str.replace_all("_", " "),
            last=pl.col("cause").is_in(["not_determined", "other", NOT_SEEN]),
        )
        .sort("last", -pl.col("n"), "what")
        .select("what", "n")
    )


def period_words(period: Period) -> str:
    """`1 January to 31 December 2025`, `1 April 2025 to 31 March 2026`."""
    first, last = period
    if first.year == last.year:
        return f"{spoken(first).removesuffix(f' {first.year}')} to {spoken(last)}"
    return f"{spoken(first)} to {spoken(last)}"


LIMIT: Final = ages.LIMIT
