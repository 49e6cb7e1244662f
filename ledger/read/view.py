"""One question's two dates held together: what stood at the close of a day, as known at a position."""

from __future__ import annotations

from datetime import date, datetime
from functools import cached_property

import polars as pl

from ledger.read.copy import AsOf, Copy, Proof
from ledger.read.names import Names
from ledger.read.positions import position_of
from ledger.read.rows import Store


class View:
    """The population on `asof.on`, as known at `asof.known`, in typed frames. Counts are integers, days are dates."""

    def __init__(self, copy: Copy, asof: AsOf) -> None:
        self.copy, self.asof = copy, asof

    @cached_property
    def names(self) -> Names:
        """What things are called."""
        return Names(self.copy, self.asof)

    @property
    def cells(self) -> pl.DataFrame:
        """Where the animals of each subject stand: subject, taxon, sex, place, holder, owner, standing, n.

        Ids, and the words of the journal. All accounts are there, with their sign: over a taxon the sum is zero.
        """
        return self.copy.cells(self.asof)

    @property
    def possible(self) -> pl.DataFrame:
        """What could have been instead: subject, choice, part, state (0: what the book says), the cell, n."""
        return self.copy.possible([self.asof.on], self.asof.known).drop("day")

    def lines(self, first: date) -> pl.DataFrame:
        """Journal lines that count from `first` to the day: effect, subject, the two days, the cell, reason, delta."""
        return self.copy.lines(first, self.asof.on, self.asof.known)

    @property
    def proof(self) -> Proof:
        """Log position, leaf, root and journal digest that the figures rest on."""
        return self.copy.proof(self.asof.known)


def view(store: Store, *, on: date | str, known: int | str | date | datetime) -> View:
    """A view of a store. `on`: a day; `known`: a position (`@500`), an instant (`2026-01-31T17:20Z`) or a day.

    Raises `NotAPosition` for a `known` that names none, ValueError for an `on` that is no ISO day.
    """
    copy = Copy(store)
    zone = str(copy.book().get("time_zone", "UTC"))
    day = date.fromisoformat(on) if isinstance(on, str) else on
    return View(copy, AsOf(day, position_of(known, copy.ends(), zone)))
