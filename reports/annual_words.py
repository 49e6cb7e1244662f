"""Sentences of the annual report, each computed from the frame it speaks of. Plain text; the page escapes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import spoken
from reports.annual_figures import COLLECTION, NOT_SEEN, Figures, deaths, main, on_basis, ranged, summed, total
from reports.common import OTHERS_HERE, OURS_ELSEWHERE
from reports.tables import counted

_WORDS: Final = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


class Big(NamedTuple):
    """A figure in large type and the sentence under it."""

    figure: str
    words: str


def count(n: int, one: str, many: str = "") -> str:
    """`one taxon`, `three taxa`, `1,204 animals`."""
    word = _WORDS[n] if 0 <= n < len(_WORDS) else f"{n:,}"
    return f"{word} {one if n == 1 else many or one + 's'}"


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?")) else ".")


def listed(parts: Sequence[str], most: int = 6) -> str:
    """`a, b and c`; beyond `most` the rest is counted."""
    if len(parts) > most:
        parts = [*parts[:most], f"{len(parts) - most} more"]
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""


def as_known(figures: Figures) -> str:
    """When the last event known was recorded, in words."""
    if not figures.recorded:
        return "before the first entry"
    at = datetime.fromisoformat(figures.recorded)
    return f"{spoken(at.date())}, {at:%H:%M} UTC"


def verb(figures: Figures) -> str:
    """`held` or `owned`."""
    return figures.asked.basis.how


def bigs(figures: Figures) -> list[Big]:
    """The few figures that answer first."""
    rolled = main(figures.rolled)
    opening, closing = total(rolled, "opening"), total(rolled, "closing")
    now = on_basis(main(figures.closing), figures.asked.basis)
    _, low, high = ranged(now)
    change = closing - opening
    moved = (
        f"{abs(change):,} {'more' if change > 0 else 'fewer'} than at the opening"
        if change
        else "as many as at the opening"
    )
    if (low, high) != (closing, closing):
        moved += f"; possible {low:,} to {high:,}" if low is not None and high is not None else "; range not known"
    new, gone = taxa_changes(figures)
    changes = [w for w in (f"{len(new)} new" if new else "", f"{len(gone)} gone" if gone else "") if w]
    return [
        Big(f"{closing:,}", f"animals {verb(figures)} at the close, {moved}"),
        Big(
            f"{now['taxon_id'].n_unique():,}",
            ", ".join(["taxa", *changes]) if changes else "taxa, the same as at the opening",
        ),
        Big(f"{total(rolled, 'hatched_and_born'):,}", _births(figures)),
        Big(f"{_came(rolled):,}", _arrivals(rolled)),
        Big(f"{_died(rolled):,}", _died_words(rolled, figures.asked.limit)),
    ]


def taxa_changes(figures: Figures) -> tuple[list[str], list[str]]:
    """Taxa of the collection there at the close and not at the opening, and the other way."""
    ends = (
        on_basis(f.filter(pl.col("standing") == COLLECTION), figures.asked.basis)
        for f in (figures.opening, figures.closing)
    )
    before, after = (
        {row["taxon_id"]: called(row) for row in f.filter(pl.col("total") > 0).iter_rows(named=True)} for f in ends
    )
    return sorted(after[t] for t in after.keys() - before.keys()), sorted(
        before[t] for t in before.keys() - after.keys()
    )


def _births(figures: Figures) -> str:
    rows = main(figures.moves).filter(pl.col("manner").is_in(["hatched", "born"]))
    n = rows["event"].n_unique()
    return f"hatched or born, in {count(n, 'entry', 'entries')}" if n else "hatched or born"


def _came(rolled: pl.DataFrame) -> int:
    return sum(total(rolled, c) for c in ("acquired", "transfer_in", "title_in"))


def _arrivals(rolled: pl.DataFrame) -> str:
    parts = [
        f"{total(rolled, column):,} {words}"
        for column, words in (("transfer_in", "by transfer"), ("acquired", "acquired"), ("title_in", "by title"))
        if total(rolled, column)
    ]
    return f"came from elsewhere{': ' if parts else ''}{listed(parts)}"


def _died(rolled: pl.DataFrame) -> int:
    return sum(total(rolled, c) for c in ("died_within_30", "died_older", "died_age_unknown"))


def _died_words(rolled: pl.DataFrame, limit: int) -> str:
    young, unsaid = total(rolled, "died_within_30"), total(rolled, "died_age_unknown")
    words = f"died, {young:,} of them within {limit} days of birth"
    return f"{words}; of {unsaid:,} it cannot be said" if unsaid else words


def rolled(figures: Figures) -> str:
    """The year in a sentence: from, through the largest movements, to."""
    rows = main(figures.rolled)
    opening, closing = total(rows, "opening"), total(rows, "closing")
    grown = _came(rows) + summed(rows, "hatched_and_born", "propagated", "recovered", "brought_forward")
    changed = summed(rows, "standing_changed")
    gone = opening + grown - closing + total(rows, "count_difference") + changed
    text = f"The year began with {opening:,} animals; {grown:,} came, {gone:,} went, and it closed with {closing:,}."
    difference = total(rows, "count_difference")
    if difference:
        text += f" Counts found {abs(difference):,} {'fewer' if difference < 0 else 'more'} than the entries say."
    if changed:
        text += f" By a change of standing {abs(changed):,} {'joined' if changed > 0 else 'left'} the collection."
    return text


def adds_up(figures: Figures) -> str:
    """`36 of 36 lines`."""
    right = int(figures.rolled["adds_up"].sum())
    return f"{right} of {count_figure(figures.rolled.height, 'line')}"


def count_figure(n: int, one: str) -> str:
    """`1 line`, `36 lines`."""
    return f"{n:,} {one if n == 1 else one + 's'}"


def notable(figures: Figures) -> list[str]:
    """What stands out, one sentence each."""
    out = []
    new, gone = taxa_changes(figures)
    if new:
        out.append(f"New in the collection: {listed(new)}.")
    if gone:
        out.append(f"No longer {verb(figures)}: {listed(gone)}.")
    change = (
        main(figures.rolled)
        .group_by("taxon", "common_name")
        .agg(pl.col("opening", "closing").sum())
        .with_columns(change=pl.col("closing") - pl.col("opening"))
        .sort("change", "taxon")
    )
    if change.height and change["change"][-1] > 0:
        out.append("The largest increase: " + _from_to(change.row(-1, named=True)))
    if change.height and change["change"][0] < 0:
        out.append("The largest decrease: " + _from_to(change.row(0, named=True)))
    changed = main(figures.rolled).filter(pl.col("re_sexed") > 0)
    if changed.height:
        parts = changed.group_by("sex").agg(pl.col("re_sexed").sum()).sort("sex").iter_rows()
        out.append(f"Re-classed by sex, found out or changed: {listed([f'{n:,} to {sex}' for sex, n in parts])}.")
    return out


def called(row: Mapping[str, Any]) -> str:
    """`lined seahorse (Hippocampus erectus)`, or the scientific name alone."""
    return f"{row['common_name']} ({row['taxon']})" if row["common_name"] else str(row["taxon"])


def _from_to(row: Mapping[str, Any]) -> str:
    return f"{called(row)}, from {row['opening']:,} to {row['closing']:,}."


def away_and_guests(figures: Figures) -> str:
    """How many of ours are elsewhere and how many of others are here."""
    shown = main(figures.closing)
    ours = shown.filter(pl.col("whose") == OURS_ELSEWHERE)
    others = shown.filter(pl.col("whose") == OTHERS_HERE)
    parts = []
    if total(ours):
        were = "was" if total(ours) == 1 else "were"
        parts.append(f"{counted(*ranged(ours))} of the house’s own animals {were} elsewhere at the close")
    if total(others):
        parts.append(f"{counted(*ranged(others))} of others {'was' if total(others) == 1 else 'were'} here")
    return (
        sentence("; ".join(parts)) if parts else "All the house’s animals were here at the close, and none of others."
    )


def died(figures: Figures) -> str:
    """The commonest cause, in a sentence."""
    causes = deaths(figures)
    if not causes.height:
        return "No deaths in the period."
    unseen = total(causes.filter(pl.col("what") == NOT_SEEN), "n")
    named = causes.filter(~pl.col("what").is_in(["not determined", NOT_SEEN]))
    undetermined = total(causes, "n") - total(named, "n") - unseen
    text = f"{total(causes, 'n'):,} animals died"
    if named.height:
        text += f"; the commonest cause named was {named['what'][0]} ({named['n'][0]:,})"
    if unseen:
        text += f"; {unseen:,} deaths nobody saw, and a count found them"
    return f"{text}; of {undetermined:,} no cause was determined." if undetermined else f"{text}."


def lateness(figures: Figures) -> str:
    """How much of the period was entered after its end."""
    late = figures.late
    if not late.height:
        return "No entry about days up to the end of the period was recorded after it."
    last = datetime.fromisoformat(str(late["recorded"].max())).date()
    entries = count(late.height, "entry", "entries")
    were = "was" if late.height == 1 else "were"
    text = f"{entries} about days up to the end of the period {were} recorded after it, the last on {spoken(last)}"
    return sentence(text)


def line_finding(name: str, rows: pl.DataFrame) -> str:
    """What a line over the period shows: first, highest and last."""
    first, last = rows.row(0, named=True), rows.row(-1, named=True)
    top = rows.sort("total", descending=True).row(0, named=True)
    points = ((first, ""), (top, "at most "), (last, ""))
    return f"{name}: " + ", ".join(f"{words}{row['total']:,} on {spoken(row['day'])}" for row, words in points)


def corrected(figures: Figures) -> str:
    """How many entries were put right in the period, and how many completed."""
    rows, learnt = figures.corrected, figures.completed.height
    if not rows.height:
        text = "No entry was corrected in the period"
    else:
        struck = rows.filter(pl.col("done") == "struck out").height
        were = "was" if rows.height == 1 else "were"
        text = f"In the period {count(rows.height, 'entry', 'entries')} {were} put right"
        some = (
            "all"
            if struck == rows.height > 1
            else "it was"
            if rows.height == 1
            else f"{count(struck, 'of them', 'of them')}"
        )
        text += f", {some} struck out" if struck else ""
        moved = rows.filter(pl.col("moved_words") != "").height
        text += f"; {count(moved, 'correction')} moved a figure"
    more = (
        f"; {count(learnt, 'entry', 'entries')} {'was' if learnt == 1 else 'were'} completed by what was learnt later"
    )
    return sentence(text + (more if learnt else ""))


def still_open(figures: Figures) -> str:
    """How many things the record still waits for at the close."""
    n = figures.open.height
    if not n:
        return "Nothing was open at the close."
    return sentence(f"at the close {count(n, 'item was', 'items were')} open, as known at the position")
