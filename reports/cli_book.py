"""Finding and opening the book, and settling what a reading command stands on: house, basis, both dates, position."""

from __future__ import annotations

import getpass
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple
from zoneinfo import ZoneInfo

from ledger.chance import SystemChance
from reports.cli_guard import ENVIRONMENT, Stop
from reports.cli_say import FORMATS
from reports.cli_words import day as typed_day

if TYPE_CHECKING:
    from ledger.read import AsOf, Copy, Names
    from reports.common import Basis

DEFAULT: Final = Path("tidemark.sqlite")
ALL_HOUSES: Final = "all"
INVENTED: Final = "recording times invented"


class Asked(NamedTuple):
    """The options of a reading command, as typed."""

    book: Path | None
    known_at: str | None
    house: str | None
    owned: bool
    form: str
    names: str | None = None  # `today`: taxa by names in use today, else by those of the day asked about


class Balance(NamedTuple):
    """Whether every taxon, summed over all accounts, is zero: how many taxa, and the names of those that are not."""

    taxa: int
    wrong: list[str]


def now() -> datetime:
    """The instant, UTC, by the clock that books of this machine are recorded by."""
    return datetime.fromisoformat(SystemChance().moment().recorded)


def login() -> str:
    """The login of whoever runs the command; empty where the machine does not know."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user number without a name, as in some containers
        return ""


def terminal() -> bool:
    """Whether somebody sits there who can be asked."""
    return sys.stdin.isatty()


def today(zone: str) -> date:
    """The civil date in a time zone."""
    return now().astimezone(ZoneInfo(zone)).date()


def path_of(book: Path | None) -> Path:
    """Where the book is, or would be."""
    return book if book is not None else DEFAULT


def existing(book: Path | None) -> Path:
    """Where the book is. Stops where there is none, and says how to begin or point to one."""
    path = path_of(book)
    if not path.exists():
        raise Stop(
            f"There is no book at {path}. Point to it with --book or TIDEMARK_BOOK, begin one with `tidemark new`, "
            "or look at one with `tidemark demo`.",
            ENVIRONMENT,
        )
    return path


@dataclass(frozen=True)
class Reading:
    """A book open for reading, and what the answer stands on."""

    copy: Copy
    names: Names  # as known at `known`, as of today
    known: int
    leaf: str
    instant: datetime  # of what is known, UTC
    house: str  # id; "" for all
    basis: Basis
    names_today: bool = False

    @property
    def today(self) -> date:
        """The civil date of the book."""
        return today(self.names.zone)

    def day(self, text: str) -> date:
        """A day as typed at the command, of the past or to come."""
        iso = typed_day(text, self.today)
        try:
            return date.fromisoformat(iso)
        except ValueError:
            raise Stop(f"“{text}” is not a day; write 2025-12-31, today, yesterday or the name of a weekday.") from None

    def named(self, day: date) -> Names:
        """What things were called on a day, as known; taxa by their names of today, where that was asked for.

        Enclosures, parties and papers stay as they were on the day: where an animal stood then is no name of today.
        """
        from ledger.read import AsOf, Names

        return Names(self.copy, AsOf(day, self.known), today_names=self.names_today)

    def asof(self, day: date) -> AsOf:
        """The two dates of a question."""
        from ledger.read import AsOf

        return AsOf(day, self.known)

    def head(self, what: str, *days: date) -> str:
        """The one line over every answer: house, what is shown, basis, as known, position."""
        house = self.names.label(self.house) if self.house else "All houses of the book"
        known = f"as known {self.instant:%Y-%m-%d %H:%MZ}, @{self.known}"
        how = "held or owned" if self.basis.how == "both" else self.basis.how
        parts = [house, what, how, known, *(["taxa by names of today"] if self.names_today else [])]
        last = self.instant.astimezone(ZoneInfo(self.names.zone)).date()
        if any(day > last for day in days):
            parts.append(f"of days after {last} nothing is known yet")
        return " · ".join([*parts, INVENTED] if self.names.simulated else parts)

    def about(self, **days: date) -> dict[str, Any]:
        """The keys of the JSON answer before its rows: `on`, or `from` and `to`, and what it stands on."""
        basis = self.basis.words(self.names)
        return {
            **{key.removesuffix("_"): day.isoformat() for key, day in days.items()},
            "known_at": f"{self.instant:%Y-%m-%dT%H:%M:%S}Z",
            "position": self.known,
            "head": self.leaf,
            "basis": f"{basis} ({INVENTED})" if self.names.simulated else basis,
        }

    def balance(self, day: date) -> Balance:
        """The zero sum of every taxon over all accounts at the close of a day."""
        import polars as pl

        sums = self.copy.figures([day], self.known).group_by("taxon").agg(pl.col("n").sum())
        wrong = sums.filter(pl.col("n") != 0)["taxon"].to_list()
        return Balance(sums.height, [self.names.label(taxon) for taxon in wrong])


@contextmanager
def reading(asked: Asked) -> Iterator[Reading]:
    """Open the book for reading, bring its copy, settle house, basis and position.

    The copy is brought in one short transaction: nobody who writes waits for us while we sum and print.
    """
    if asked.form not in FORMATS:
        raise Stop(f"--format is {', '.join(FORMATS)}; not “{asked.form}”.")
    if asked.names not in (None, "today"):
        raise Stop(f"--names is today, or left out for the names of the day asked about; not “{asked.names}”.")
    path = existing(asked.book)
    from ledger.read import AsOf, Copy, Names
    from ledger.store.places import open_store

    with closing(open_store(str(path))) as store:
        with store.reading():
            copy = Copy(store)
        with closing(copy):
            known, instant = _known(copy, asked.known_at)
            leaf = store.event(known).leaf.hex() if known else "0" * 64
            names = Names(copy, AsOf(today(_zone(copy)), known))
            house, basis = _basis(names, asked)
            yield Reading(copy, names, known, leaf, instant, house, basis, names_today=asked.names == "today")


def _zone(copy: Copy) -> str:
    from ledger.read import AsOf, Names

    return Names(copy, AsOf(date.max, copy.head.position)).zone


def _known(copy: Copy, typed: str | None) -> tuple[int, datetime]:
    """Position and instant of what is known; without a word, now."""
    from ledger.read import position_of

    if typed is None:
        return copy.head.position, now()
    zone = _zone(copy)
    word = typed_day(typed, today(zone))
    ends = list(copy.ends())
    position = position_of(word, ends, zone)
    if word.startswith("@"):
        recorded = next((text for _, last, text in ends if last == position), ends[0][2])
        return position, datetime.fromisoformat(recorded)
    if len(word) == len("2026-01-31"):
        close = datetime.combine(date.fromisoformat(word) + timedelta(days=1), clock(), ZoneInfo(zone))
        return position, min(close.astimezone(UTC) - timedelta(seconds=1), now())
    return position, min(datetime.fromisoformat(word).astimezone(UTC), now())


def _basis(names: Names, asked: Asked) -> tuple[str, Basis]:
    from reports.common import Basis

    how: Literal["owned", "held"] = "owned" if asked.owned else "held"
    if asked.house == ALL_HOUSES:
        return "", Basis(how, "")
    try:
        house = names.find("house", asked.house) if asked.house else names.first_house()
    except KeyError:
        known = ", ".join(f"{t.code} ({t.name})" for t in names.of("house"))
        said = f"“{asked.house}” is no house" if asked.house else "No house"
        raise Stop(f"{said} known at that position; there are: {known or 'none'}.") from None
    return house, Basis(how, house)
