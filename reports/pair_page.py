"""Pair histories as one page: bonds, courtship, waiting and fidelity put together, for the command and the notebook.

Every figure is that of `reports.pairs`, `reports.courting`, `reports.waiting` and `reports.fidelity`; the page computes
nothing but its sentences and the rows of its pictures.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

import polars as pl

from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, position_of
from reports import bond_charts, charts
from reports import pair_tables as tables
from reports.bonds import Bonds, bonds
from reports.courting import courting
from reports.fidelity import fidelity
from reports.laid import Laid, laid, young_of
from reports.page import Part, look, paragraph, section
from reports.pairs import pairs
from reports.waiting import ENOUGH, EVERY_DAY, Waiting, waiting


@dataclass(frozen=True)
class Question:
    """Pairs of a house ("" of all) on a day, as known at a position; of one taxon (its id) or of all ("").

    Frames come when they are asked for, each once.
    """

    copy: Copy
    names: Names
    asof: AsOf
    house: str
    taxon: str = ""

    def _of(self, frame: pl.DataFrame) -> pl.DataFrame:
        return frame.filter(pl.col("taxon_id") == self.taxon) if self.taxon else frame

    @cached_property
    def bonds(self) -> Bonds:
        """Every bond begun by the day."""
        return bonds(self.copy, self.names, self.asof)

    @cached_property
    def laid(self) -> list[Laid]:
        """Every brood begun by the day."""
        return laid(self.copy, self.names, self.asof)

    @cached_property
    def pairs(self) -> pl.DataFrame:
        """A row a bond."""
        young = young_of(self.bonds.bonds, self.laid)
        return self._of(pairs(self.copy, self.names, self.asof, self.bonds, self.house, young))

    @cached_property
    def courting(self) -> pl.DataFrame:
        """A row a two that courted."""
        return self._of(courting(self.copy, self.names, self.asof, self.bonds, self.laid, self.house))

    @cached_property
    def waiting(self) -> Waiting:
        """Episodes, their counts, and curves where there are events enough."""
        found = waiting(self.copy, self.names, self.asof, self.bonds, self.house)
        curves = found.curves
        if self.taxon:
            curves = curves.filter(pl.col("taxon") == self.names.label(self.taxon))
        return Waiting(self._of(found.episodes), self._of(found.summary), curves)

    @cached_property
    def fidelity(self) -> pl.DataFrame:
        """Counts and shares by taxon, role and gap."""
        return self._of(fidelity(self.copy, self.names, self.asof, self.laid, self.house))


@dataclass(frozen=True)
class PairPage:
    """The page in parts, and the frames they were made of."""

    head: Part
    timeline: Part
    histories: Part
    courtship: Part
    waits: Part
    fidelity: Part
    frames: Mapping[str, pl.DataFrame]

    @property
    def look(self) -> Part:
        """The style of the parts, for a notebook that shows them one by one."""
        return look()

    @property
    def parts(self) -> list[Part]:
        """All of them, in the order of the page."""
        return [self.head, self.timeline, self.histories, self.waits, self.courtship, self.fidelity]


def from_words(copy: Copy, *, on: str, house: str, known_at: str | int, taxon: str = "") -> PairPage:
    """The page asked for in a person's words.

    `on`: an ISO day. `house`: code or name of a member house, "" the whole book. `taxon`: a scientific name, "" all.
    `known_at`: a day, a UTC instant or a position (`@500`). Raises `NotAPosition`, KeyError for an unknown house or
    taxon, ValueError for a day that is none.
    """
    asof = AsOf(date.fromisoformat(on), position_of(known_at, copy.ends(), str(copy.book().get("time_zone", "UTC"))))
    names = Names(copy, asof)
    found = [names.find(sort, text) if text else "" for sort, text in (("house", house), ("taxon", taxon))]
    return page(Question(copy, names, asof, *found))


def page(asked: Question) -> PairPage:
    """The page of a question."""
    names, asof = asked.names, asked.asof
    bars, broods = rows(asked)
    said = finding(asked.pairs)
    name = names.label(asked.house) if asked.house else "All houses of the book"
    invented = " Recording times invented: this book is a demonstration." if names.simulated else ""
    when = f"{name}, at the close of {spoken(asof.on)}, as known at log position @{asof.known}.{invented}"
    drawing = charts.figure(bond_charts.timeline(bars, broods), said, "broad") if bars.height else ""
    return PairPage(
        head=Part(f"<header><h1>Bonds, and what came of them</h1>{paragraph(when)}</header>"),
        timeline=section("Bonds and broods", paragraph(said), drawing, paragraph(_KEY, "small") if drawing else ""),
        histories=section("Pair histories", tables.histories(asked.pairs), paragraph(_DAYS, "small")),
        courtship=section("Courtship", tables.courtship(asked.courting), paragraph(_BOUTS, "small")),
        waits=_waits(asked.waiting),
        fidelity=section("The same mate again", tables.same_again(asked.fidelity), paragraph(_FIDELITY, "small")),
        frames={
            "pairs": asked.pairs,
            "courting": asked.courting,
            "episodes": asked.waiting.episodes,
            "waiting": asked.waiting.summary,
            "curves": asked.waiting.curves,
            "fidelity": asked.fidelity,
            "bars": bars,
            "broods": broods,
        },
    )


_KEY = "A bar is a bond, a block on it a brood of the two. What ended a bond stands at its end, in words and by a mark."
_DAYS = (
    "Days are closes on which the bond stood: together in one enclosure, apart, or not to be said. Apart is printed "
    "and not judged. Ranges are what uncertain dates leave open."
)
_BOUTS = "Courtship on days in a row is one bout. It led to eggs where a brood names it, or was the last before one."
_FIDELITY = (
    "From one brood to the next, where the next began after the former was over: fidelity counts changes while the "
    "former mate was there, retention also those after it had gone."
)


def rows(asked: Question) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The rows of the timeline (`bond_charts.timeline`): bars of bonds, blocks of broods begun in them."""
    wanted = {row["pair"]: row for row in asked.pairs.to_dicts()}
    bars: list[dict[str, Any]] = []
    blocks: list[dict[str, Any]] = []
    own = {b.pair: b for b in asked.bonds.bonds if b.pair in wanted}
    of_two: dict[frozenset[str], list[Laid]] = defaultdict(list)
    for brood in asked.laid:
        for two in {frozenset((brood.dam, mate)) for mate in (brood.mate, brood.sire)}:
            of_two[two].append(brood)
    taxon = ""
    for pair, row in wanted.items():
        if row["taxon"] != taxon:
            taxon = row["taxon"]
            empty = {"start": None, "stop": None, "text": ""}
            bars.append({"who": taxon, "taxon": taxon, **empty, "mark": bond_charts.HEAD})
        bond = own[pair]
        nth = f" ({row['nth_time']})" if row["nth_time"] > 1 else ""
        who = f"{row['a']} and {row['b']}{nth}"
        text, mark = (row["how_ended"], row["ended_by"]) if row["ended_by"] else ("", bond_charts.STANDS)
        bars.append(
            {"who": who, "taxon": row["taxon"], "start": bond.start, "stop": bond.stop, "text": text, "mark": mark}
        )
        for brood in of_two[bond.two]:
            if bond.start <= brood.start < bond.stop:
                stop = brood.ended or asked.asof.on
                blocks.append({"who": who, "start": brood.start, "stop": max(stop, brood.start), "brood": brood.code})
    return pl.DataFrame(bars, schema=bond_charts.BARS), pl.DataFrame(blocks, schema=bond_charts.BROODS)


def finding(found: pl.DataFrame) -> str:
    """The timeline in words."""
    if not found.height:
        return "No pair is recorded."
    ends = Counter(row["ended_by"] for row in found.to_dicts())
    stands = ends.pop("", 0)
    words = [f"{n} by {bond_charts.ENDS[how]}" for how, n in ends.most_common()]
    ended = f"; {sum(ends.values())} ended or are out of sight: {', '.join(words)}" if words else ""
    broods, young = found["broods"].sum(), found["young"].sum()
    came = f" {broods} broods of these pairs gave {young:,} live young." if broods else ""
    return f"{found.height} bonds, {stands} of them standing{ended}.{came}"


def _waits(found: Waiting) -> Part:
    lines = [
        f"{row['taxon']}: {row['episodes']} waits of {row['animals']} animals. {row['events']} ended with a mate, "
        f"{row['introduced']} of them put in by the keepers; {row['departed']} ended otherwise, {row['waiting']} go on."
        for row in found.summary.to_dicts()
    ]
    drawn = []
    for taxon in found.curves["taxon"].unique(maintain_order=True):
        own = found.curves.filter((pl.col("taxon") == taxon) & (pl.col("clock") == EVERY_DAY))
        last = own.row(-1, named=True)
        said = (
            f"{taxon}: after {last['day']:.0f} days {last['paired']:.0%} had a mate again; "
            f"{1 - last['surv']:.0%}, had nothing else ended the wait."
        )
        drawn += [paragraph(said), charts.figure(bond_charts.repairing(own), said, "half")]
    few = f"A curve is drawn from {ENOUGH} waits that ended with a mate; below that the list says more."
    shown = tables.waits(found.episodes)
    return section("Waiting for the next mate", *map(paragraph, lines), *drawn, shown, paragraph(few, "small"))
