"""How many of each sex a unit holds on a day, with the range each number could have (engine rule 21 of the design)."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from ledger.words import LETTER_OF, SEXES
from reports.common import mfu
from reports.unit_days import Present
from reports.units import Unit, Units

_NOT_KNOWN: Final = -1
TOTAL: Final = "total"


class Held(NamedTuple):
    """Numbers by sex of those in the unit; `low` and `high` by sex and `total`, empty where the range is not known."""

    counts: Mapping[str, int]
    low: Mapping[str, int]
    high: Mapping[str, int]
    changing: int

    @property
    def mfu(self) -> str:
        """`1.0.2`."""
        return mfu(*(self.counts.get(sex, 0) for sex in ("male", "female", "unknown", "hermaphrodite")))

    @property
    def total(self) -> int:
        """All of them."""
        return sum(self.counts.values())

    @property
    def range(self) -> str:
        """`m 0–1, f 0–1, total 3, 1 changing`; empty where nothing is open."""
        said = [
            f"{LETTER_OF.get(key, key)} {self.low[key]}–{self.high[key]}"
            for key in (*SEXES, TOTAL)
            if self.low and self.low[key] != self.high[key]
        ]
        if said and not said[-1].startswith(TOTAL):
            said.append(f"{TOTAL} {self.total}")
        if not self.low:
            said = ["range not known"]
        return ", ".join([*said, *([f"{self.changing} changing"] if self.changing else [])])


class Ranges:
    """What could have been on one day, asked of the copy once."""

    def __init__(self, copy: Copy, names: Names, asof: AsOf) -> None:
        rows = copy.possible([asof.on], asof.known).with_columns(
            pl.col("taxon").replace(names.united) if names.united else pl.col("taxon")
        )
        self._rows: dict[str, list[dict[str, object]]] = defaultdict(list)
        for row in rows.iter_rows(named=True):
            self._rows[row["subject"]].append(row)

    def held(self, units: Units, unit: Unit, taxon: str, home: str, present: Present, day: date, changing: int) -> Held:
        """Those of a taxon in a unit at the close of `day` (the day asked about), at home in `home`."""
        counts: Counter[str] = Counter()
        for own in present.values():
            counts.update(own)
        low, high = Counter(counts), Counter(counts)
        low[TOTAL] = high[TOTAL] = counts.total()
        members = {
            m.subject for m in units.members[unit.id] if m.since.high <= day and (m.until is None or day < m.until.high)
        }
        for subject in members:
            states: dict[tuple[object, object], dict[object, Counter[str]]] = defaultdict(dict)
            for row in self._rows.get(subject, ()):
                if row["state"] == _NOT_KNOWN:
                    return Held(counts, {}, {}, changing)
                state = states[row["choice"], row["part"]].setdefault(row["state"], Counter())
                if row["taxon"] == taxon and home and units.parts(str(row["place"]), unit.enclosure) == home:
                    state.update({str(row["sex"]): int(str(row["n"])), TOTAL: int(str(row["n"]))})
            for choice in states.values():
                book = choice.get(0, Counter())
                for key in (*SEXES, TOTAL):
                    differences = [state[key] - book[key] for state in choice.values()]
                    low[key] += min(differences)
                    high[key] += max(differences)
        return Held(counts, {k: max(0, low[k]) for k in (*SEXES, TOTAL)}, high, changing)
