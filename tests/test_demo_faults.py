"""What goes wrong when stock is reconciled, planted one by one in the invented house: each is found, or cannot happen.

The list of faults is that of "Reconciling Livestock Tallies" (ruralca.nz, read there): last year's tally wrong; this
year's wrong; purchases omitted or duplicated; increase and deaths inaccurate; leased-in stock included; leased-out
stock omitted; "a reasonable guess is made"; bought or sold within a few days of the balance date. The small worlds of
`cases/reconciliation.yaml` show each alone; here they must show among some thousands of other entries.
"""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import ledger
from ledger.book import Book
from ledger.checks.standing import plausible
from ledger.findings import CODES
from ledger.outcome import Outcome
from ledger.read import AsOf, Copy, Names
from reports.census import census
from reports.cli_demo import _load
from reports.common import OTHERS_HERE, OURS_ELSEWHERE, Basis, Period
from reports.corrections import corrections
from reports.register import register
from reports.rollforward import DIED, rollforward

LAST, THIS = Period(date(2024, 1, 1), date(2024, 12, 31)), Period(date(2025, 1, 1), date(2025, 12, 31))
EVER = Period(date(2023, 1, 1), date(2026, 12, 31))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "tidemark.sqlite"
    _load(path)
    return path


@pytest.fixture
def house(made: Path, tmp_path: Path) -> Iterator[House]:
    path = tmp_path / "tidemark.sqlite"
    shutil.copyfile(made, path)
    with closing(ledger.open_book(str(path), write=True)) as book:
        yield House(book)


class House:
    """The demo's book, to plant a fault in, and its figures."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.events = list(book.events())

    def find(self, kind: str, year: int, **wanted: str) -> dict[str, Any]:
        """The first standing event of a kind, in a year, with these fields by what was typed."""
        gone = {event["supersedes"] for event in self.events}
        for event in self.events:
            payload = event["payload"]
            said = {f: v.get("as") if isinstance(v, dict) else v for f, v in payload.items()}
            fits = all(said.get(field) == value for field, value in wanted.items())
            stands = event["event_id"] not in gone and event["supersedes"] is None
            if event["kind"] == kind and event["occurred"]["last"][:4] == str(year) and fits and stands:
                return event
        raise AssertionError(f"the demo has no {kind} of {year} with {wanted}")

    def correct(self, event: dict[str, Any], *, dry_run: bool = False, **changes: Any) -> Outcome:
        return self.book.correct(event["seq"], changes, reason="mistake", by="QM", accept=_ANY, dry_run=dry_run)

    def record(self, kind: str, day: str, **payload: Any) -> Outcome:
        return self.book.append([{"kind": kind, "occurred": day, "payload": payload}], by="QM", accept=_ANY)

    def year(self, period: Period, known: int | None = None, how: str = "held") -> pl.DataFrame:
        with closing(Copy(self.book.store)) as copy:
            at = self.book.head[0] if known is None else known
            names = Names(copy, AsOf(period.last, at), today_names=True)
            return rollforward(copy, names, period, at, Basis(how, names.first_house()))  # type: ignore[arg-type]

    def of_taxon(self, period: Period, taxon: str, column: str, known: int | None = None, how: str = "held") -> int:
        frame = self.year(period, known, how)
        assert frame["adds_up"].all()
        return int(frame.filter(pl.col("taxon") == taxon)[column].sum())

    def taxon(self, event: dict[str, Any]) -> str:
        lot = event["payload"].get("lot") or event["payload"].get("animal") or event["payload"]["into"]
        cells = self.book.index.tale(lot["id"]).lines
        return str(self.book.index.name(cells[0].cell.taxon))

    def corrected(self) -> pl.DataFrame:
        with closing(Copy(self.book.store)) as copy:
            at = self.book.head[0]
            names = Names(copy, AsOf(EVER.last, at))
            return corrections(copy, names, Period(date(2023, 1, 1), date(2027, 12, 31)), at, Basis("held", ""))


_ANY = {code.name: "planted" for code in CODES if code.weight == "warning"}


def test_nothing_planted_finds_nothing_new(house: House) -> None:
    """The canary of all that follow: the demo adds up, and what is unlikely in it was accepted."""
    assert plausible(house.book.index) == []
    for period in (LAST, THIS):
        assert house.year(period)["adds_up"].all()
    ends = []
    for period, column in ((LAST, "closing"), (THIS, "opening")):
        sums = house.year(period).group_by("taxon", "sex").agg(pl.col(column).sum())
        ends.append({(taxon, sex): n for taxon, sex, n in sums.iter_rows() if n})
    assert ends[0] == ends[1]


def test_last_years_tally_wrong(house: House) -> None:
    """A count before the year's end was too low: the opening follows the closing, and the figure filed stays."""
    count = house.find("count", 2024, lot="MS-2023-0032")
    taxon, filed = house.taxon(count), house.book.head[0]
    before = [house.of_taxon(LAST, taxon, "closing"), house.of_taxon(THIS, taxon, "opening")]
    assert house.correct(count, how_many=count["payload"]["how_many"]["u"] - 4).landed
    after = [house.of_taxon(LAST, taxon, "closing"), house.of_taxon(THIS, taxon, "opening")]
    assert before[0] == before[1] and after[0] == after[1] == before[0] - 4
    assert house.of_taxon(LAST, taxon, "closing", filed) == before[0]
    assert house.of_taxon(THIS, taxon, "count_difference") != house.of_taxon(THIS, taxon, "count_difference", filed)


def test_this_years_tally_wrong(house: House) -> None:
    """It shows as a count's difference, in a column of its own, and as a correction when it is put right."""
    count = house.find("count", 2025, lot="MS-2023-0032")
    taxon, n = house.taxon(count), count["payload"]["how_many"]["u"]
    before = house.of_taxon(THIS, taxon, "count_difference")
    assert house.correct(count, how_many=n - 9).landed
    assert house.of_taxon(THIS, taxon, "count_difference") == before - 9
    listed = house.corrected()
    assert (listed["moved"] == -9).any()


def test_a_purchase_omitted(house: House) -> None:
    """What was done later with what was bought keeps it from going: the omission cannot stand unseen."""
    bought = house.find("transfer", 2023, lot="MS-2023-0141")
    refused = house.book.strike_out(bought["seq"], reason="mistake", by="QM", accept=_ANY)
    assert not refused.landed and refused.findings
    grown = house.find("hatching", 2025)
    lot = grown["payload"].get("lot") or grown["payload"].get("into")
    assert lot is not None
    out = house.book.strike_out(grown["seq"], reason="mistake", by="QM", accept=_ANY)
    assert not out.landed, "its deaths, counts and moves still name it"


def test_a_purchase_twice(house: House) -> None:
    """It is very like the one that stands, into the same lot as under a number of its own."""
    bought = house.find("transfer", 2025, terms="sale", to="MS")["payload"]
    again = {f: v.get("as") if isinstance(v, dict) and "as" in v else v for f, v in bought.items()}
    again = {f: v for f, v in again.items() if f not in ("holder", "owner", "standing", "note", "permit_details")}
    again = {f: v for f, v in again.items() if not (isinstance(v, dict) and "commit" in v)}
    day = house.find("transfer", 2025, terms="sale", to="MS")["occurred"]["edtf"]
    entry = {"kind": "transfer", "occurred": day, "payload": again}
    same = house.book.append([entry], by="QM")
    assert not same.landed and {"very-like", "number-in-use"} & {f.code for f in same.findings}
    subject = "lot" if "lot" in again else "animal"
    other = {**entry, "payload": {**again, subject: "MS-2025-9001"}}
    warned = house.book.append([other], by="QM")
    assert {"very-like"} <= {f.code for f in warned.findings}


@pytest.mark.parametrize(("kind", "more"), [("hatching", 11), ("death", 3)])
def test_increase_or_deaths_inaccurate(house: House, kind: str, more: int) -> None:
    """The next count takes up the difference: a figure moves from one column to another, and none is lost."""
    counts = [(e["payload"]["lot"]["id"], e["occurred"]["first"]) for e in house.events if e["kind"] == "count"]
    for event in house.events:
        payload = event["payload"]
        who = payload.get("how_many", {})
        lot = payload.get("lot") or payload.get("into")
        later = lot and any(id_ == lot["id"] and day > event["occurred"]["last"] for id_, day in counts)
        if event["kind"] != kind or not later or list(who) not in (["u"], ["n"]):
            continue
        letter = next(iter(who))
        filed = house.book.head[0]
        changed = {letter: who[letter] + more}
        tried = house.correct(event, dry_run=True, how_many=changed)
        alive = sum(p.line.delta for p in tried.postings if p.line.cell.place.startswith("e-"))
        if tried.landed and alive == 0:  # else the place they would stand in has not been counted since
            assert house.correct(event, how_many=changed).landed
            break
    else:
        raise AssertionError(f"no {kind} of a counted lot can be corrected")
    taxon = house.taxon(event)
    change: Counter[str] = Counter()
    for sign, known in ((1, house.book.head[0]), (-1, filed)):
        frame = house.year(EVER, known).filter(pl.col("taxon") == taxon)
        assert frame["adds_up"].all()
        for column in ("hatched_and_born", *DIED, "count_difference", "closing"):
            change["died" if column in DIED else column] += sign * int(frame[column].sum())
    assert change["closing"] == 0, "what was counted later stands"
    if kind == "hatching":  # as a difference, or as deaths not seen where the count says that they were
        assert change["hatched_and_born"] == more and change["died"] - change["count_difference"] == more
    else:
        assert change["died"] == change["count_difference"] and change["hatched_and_born"] == 0
    assert house.corrected().height, "and who put it so is listed"


def test_leased_in_stock_is_not_ours(house: House) -> None:
    """Owned counts no borrowed animal; to call the loan a purchase is refused at its return, or shows in both years."""
    loan = house.find("transfer", 2024, terms="loan", to="MS")
    filed = house.book.head[0]
    refused = house.correct(loan, terms="sale")
    assert not refused.landed, "it went back as a loan, which is not ours to do"
    on = AsOf(date(2025, 12, 31), filed)
    with closing(Copy(house.book.store)) as copy:
        names = Names(copy, on)
        whose = census(copy, names, on, Basis("both", names.first_house()), ["taxon", "owner"])
    borrowed = whose.filter(pl.col("whose") == OTHERS_HERE)
    assert borrowed.height and not borrowed["owner"].str.contains("Marrow").any()
    owned = sum(whose.filter(pl.col("whose") != OTHERS_HERE)["total"])
    assert int(house.year(THIS, filed, "owned")["closing"].sum()) == owned


def test_leased_out_stock_is_ours_still(house: House) -> None:
    """It stands among the owned, in rows of its own; forgotten to be sent, it is found where it is not."""
    lent = house.find("transfer", 2024, terms="breeding_loan", animal="MS-2023-0070")
    on = AsOf(date(2024, 12, 31), house.book.head[0])
    with closing(Copy(house.book.store)) as copy:
        names = Names(copy, on)
        frame = census(copy, names, on, Basis("both", names.first_house()), ["taxon", "holder"])
    away = frame.filter(pl.col("whose") == OURS_ELSEWHERE)
    assert house.taxon(lent) in away["taxon"].to_list()
    sold = house.correct(lent, terms="sale")
    assert not sold.landed or house.of_taxon(LAST, house.taxon(lent), "closing", how="owned") < house.of_taxon(
        LAST, house.taxon(lent), "closing", on.known, "owned"
    )


def test_a_reasonable_guess_is_shown_as_one(house: House) -> None:
    """A number taken as one between two has its range on every day until somebody counts."""
    guess = next(e for e in house.events if e["kind"] == "count" and "at_least" in e["payload"])
    on = AsOf(date.fromisoformat(guess["occurred"]["last"]), house.book.head[0])
    with closing(Copy(house.book.store)) as copy:
        names = Names(copy, on)
        frame = census(copy, names, on, Basis("held", names.first_house()), ["taxon"])
    rows = frame.filter(pl.col("taxon") == house.taxon(guess)).to_dicts()
    assert any(row["low"] < row["total"] < row["high"] for row in rows)


def test_bought_within_days_of_the_years_end(house: House) -> None:
    """Underway over New Year it is the sender's until it arrives: in one year's register and in no two closings."""
    late = next(e for e in house.events if e["kind"] == "transfer" and e["payload"].get("left") == "2025-12-30")
    rows = []
    for period in (THIS, Period(date(2026, 1, 1), date(2026, 12, 31))):
        with closing(Copy(house.book.store)) as copy:
            at = house.book.head[0]
            names = Names(copy, AsOf(period.last, at))
            rows.append(register(copy, names, period, at, Basis("held", names.first_house())))
    number = (late["payload"].get("lot") or late["payload"]["animal"])["as"]
    assert [number in frame["number"].to_list() for frame in rows] == [False, True]
    row = rows[1].filter(pl.col("number") == number).row(0, named=True)
    assert str(row["left"]) == "2025-12-30" and row["date"] > date(2025, 12, 31)
