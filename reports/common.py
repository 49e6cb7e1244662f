"""What reports share: the basis of a figure, where an animal is seen from a house, names beside ids, m.f.u."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Final, Literal, NamedTuple

import polars as pl

from ledger.dates import spoken
from ledger.read import Names
from ledger.read.numbers import id_of
from ledger.words import IN_TRANSIT, LETTER_OF, SEXES, STANDINGS

How = Literal["held", "owned", "both"]
OURS_HERE, OTHERS_HERE, OURS_ELSEWHERE = "ours_here", "others_here", "ours_elsewhere"
SIDES: Final = (OURS_HERE, OTHERS_HERE, OURS_ELSEWHERE)
OURS_IN_PART: Final = "ours_in_part"  # of a joint owner in which the house has a share: apart from the three
SIDE_WORDS: Final = {
    OURS_HERE: "ours and here",
    OTHERS_HERE: "another’s and here",
    OURS_ELSEWHERE: "ours and elsewhere",
    OURS_IN_PART: "ours in part",
}
ELSEWHERE: Final = "elsewhere"
UNDERWAY: Final = "in transit"
NOT_COUNTED: Final = "not_counted"


@dataclass(frozen=True)
class Basis:
    """Which animals a figure counts: by house `house` (an id; "" for all member houses together).

    Held: in an enclosure of the house, or in transit from it. Owned: the house's, in an enclosure, in transit or with
    an outside party. Escaped, missing, released, dead and unaccounted-for animals are in neither, whatever owner
    their line still carries.
    Both: held or owned, for a census that shows the three sides apart.
    """

    how: How
    house: str

    def _is(self, column: str) -> pl.Expr:
        return pl.col(column) == self.house if self.house else pl.col(column).str.starts_with("h-")

    @property
    def here(self) -> pl.Expr:
        """In an enclosure of the house, or on the way from it: the sender's until it arrives."""
        return pl.col("place").str.contains(f"^e-|^{IN_TRANSIT}$") & self._is("holder")

    @property
    def ours(self) -> pl.Expr:
        """The house's own, in an enclosure, on the way or with an outside party."""
        return pl.col("place").str.contains(f"^[eo]-|^{IN_TRANSIT}$") & self._is("owner")

    @property
    def counts(self) -> pl.Expr:
        """The rows this basis counts."""
        return {"held": self.here, "owned": self.ours, "both": self.here | self.ours}[self.how]

    @property
    def side(self) -> pl.Expr:
        """`ours_here`, `others_here` or `ours_elsewhere`; null where the cell is none of them."""
        return (
            pl.when(self.here & self._is("owner"))
            .then(pl.lit(OURS_HERE))
            .when(self.here)
            .then(pl.lit(OTHERS_HERE))
            .when(self.ours)
            .then(pl.lit(OURS_ELSEWHERE))
        )

    def words(self, names: Names) -> str:
        """`Held by Marrow Sound Aquarium`, `Owned by all houses of the book`."""
        how = {"held": "Held", "owned": "Owned", "both": "Held or owned"}[self.how]
        return f"{how} by {names.label(self.house) if self.house else 'all houses of the book'}"


@dataclass(frozen=True)
class InPart(Basis):
    """Animals of joint owners (ids), in an enclosure of any member house or in transit from one; never of the house.

    Where such animals go to a party outside the book they are followed no further, as all that no member owns.
    """

    owners: tuple[str, ...] = ()

    @property
    def counts(self) -> pl.Expr:
        """The rows of those owners that are in the book."""
        within = pl.col("place").str.contains(f"^e-|^{IN_TRANSIT}$") & pl.col("holder").str.starts_with("h-")
        return within & pl.col("owner").is_in(self.owners)

    @property
    def side(self) -> pl.Expr:
        """`ours_in_part`."""
        return pl.lit(OURS_IN_PART)


def shares(names: Names, house: str) -> dict[str, str]:
    """Joint parties in which a house has a share on the day of the names: id -> share (`1/3`).

    Of the whole book (house ""): the shares of all member houses together.
    """
    out: dict[str, str] = {}
    for party in names.of("party"):
        members, parts = party.fields.get("members") or [], party.fields.get("shares") or []
        of = [Fraction(s) for m, s in zip(members, parts, strict=False) if _is_of(house, id_of(m))]
        if of:
            part = sum(of, Fraction(0))
            out[party.id] = f"{part.numerator}/{part.denominator}"
    return out


def _is_of(house: str, member: str) -> bool:
    return member == house if house else member.startswith("h-")


class Period(NamedTuple):
    """First and last day, both inside. A year that starts on 1 April is Period(1 April, 31 March)."""

    first: date
    last: date

    @property
    def eve(self) -> date:
        """The day at whose close the period opens."""
        return self.first - timedelta(days=1)


def year(number: int, month: int, day: int) -> Period:
    """The year that starts on that day of calendar year `number`. Raises ValueError for 29 February."""
    return Period(date(number, month, day), date(number + 1, month, day) - timedelta(days=1))


def heading(names: Names, basis: Basis, when: str, known: str) -> str:
    """The basis and both dates in words, as they stand over every figure."""
    return f"{basis.words(names)}, {when}, as known {known}"


def close_of(day: date) -> str:
    """`at the close of 31 December 2025`."""
    return f"at the close of {spoken(day)}"


def labels(column: str, names: Names) -> pl.Expr:
    """Names for the ids in a column; an id nothing is known of stays as it is, empty stays empty."""
    things = {t.id: t.name for sort in ("house", "party", "enclosure") for t in names.of(sort)}
    return pl.col(column).replace(things) if things else pl.col(column)


def seen(frame: pl.DataFrame, names: Names) -> pl.DataFrame:
    """Rows of the journal as a report sees them.

    What was united stands under the taxon that stayed; `kept` is `not_counted` where the subject is a lot that is
    not counted, else empty (figures bring it with them).
    """
    if names.united:
        frame = frame.with_columns(pl.col("taxon").replace(names.united))
    if "kept" in frame.columns:
        return frame
    uncounted = pl.col("subject").is_in(sorted(names.uncounted))
    return frame.with_columns(kept=pl.when(uncounted).then(pl.lit(NOT_COUNTED)).otherwise(pl.lit("")))


def tagged(cells: pl.DataFrame, names: Names) -> pl.DataFrame:
    """Cells with names beside their ids.

    Adds `taxon_id` (the id; `taxon` becomes the scientific name), common_name, class, unit, enclosure_id,
    enclosure (code), enclosure_name, section and purpose; holder and owner become names. Animals with an
    outside party have its name as enclosure, and `elsewhere` as section and purpose; those on the way have `in
    transit` as all three. `unit` of a lot that is not counted is `not_counted`, whatever its taxon's is.
    """
    placed = names.enclosures.select(
        "place", enclosure="code", enclosure_name="name", section="section", purpose="purpose"
    )
    away, underway = pl.col("place").str.starts_with("o-"), pl.col("place") == IN_TRANSIT
    elsewhere = pl.when(away).then(pl.lit(ELSEWHERE)).when(underway).then(pl.lit(UNDERWAY))
    kept = (pl.col("kept") if "kept" in cells.columns else pl.lit("")) == NOT_COUNTED
    named = pl.when(away).then(labels("place", names)).when(underway).then(pl.lit(UNDERWAY))
    return (
        cells.rename({"taxon": "taxon_id"})
        .join(names.taxa.drop("rank"), on="taxon_id", how="left")
        .join(placed, on="place", how="left")
        .with_columns(
            pl.col("taxon").fill_null(pl.col("taxon_id")),
            pl.col("common_name", "class").fill_null(""),
            pl.when(kept).then(pl.lit(NOT_COUNTED)).otherwise(pl.col("unit").fill_null("animals")).alias("unit"),
            *(named.otherwise(c).alias(c) for c in ("enclosure", "enclosure_name")),
            *(elsewhere.otherwise(c).alias(c) for c in ("section", "purpose")),
            labels("holder", names).alias("holder"),
            labels("owner", names).alias("owner"),
        )
        .with_columns(pl.col("enclosure", "enclosure_name", "section", "purpose").fill_null(""))
        .rename({"place": "enclosure_id"})
    )


def mfu(m: int, f: int, u: int, h: int = 0) -> str:
    """Counts as the trade writes them: `2.3.1`; hermaphrodites follow in words, `2.3.1 + 4 h`."""
    return f"{m}.{f}.{u}" + (f" + {h} h" if h else "")


def mfu_column(m: str = "m", f: str = "f", h: str = "h", u: str = "u") -> pl.Expr:
    """`mfu` of four columns, as text."""
    text = pl.format("{}.{}.{}", m, f, u)
    return pl.when(pl.col(h) != 0).then(pl.format("{} + {} h", text, h)).otherwise(text)


def by_sex(amount: str = "n") -> list[pl.Expr]:
    """Sums of a column by sex as m, f, h, u, and `total`: for a group_by over rows with `sex`."""
    return [
        *(pl.col(amount).filter(pl.col("sex") == sex).sum().alias(LETTER_OF[sex]) for sex in SEXES),
        pl.col(amount).sum().alias("total"),
    ]


def in_order(keys: Sequence[str]) -> list[pl.Expr]:
    """Sort keys: standings with the collection first, sexes and sides in their own order, the rest by name."""
    orders = {"standing": STANDINGS, "sex": SEXES, "whose": SIDES}
    return [
        pl.col(k).replace_strict({w: i for i, w in enumerate(orders[k])}, default=99, return_dtype=pl.Int64)
        if k in orders
        else pl.col(k)
        for k in keys
    ]
