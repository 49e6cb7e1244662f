"""Odd lots in the reports: deaths not seen, fed out, not counted; names of the day and of today; shipments."""

from __future__ import annotations

from datetime import date
from typing import Any

from told_books import Told, animal, entry, lot

from ledger.read import Names
from reports.census import census
from reports.common import Basis, Period
from reports.register import register
from reports.rollforward import rollforward, year


def rolled(told: Told, starts: int = 2024, how: str = "held", **names_as: bool) -> list[dict[str, Any]]:
    period = year(starts, 1, 1)
    copy, names, asof = told.asked(period.last.isoformat(), **names_as)
    frame = rollforward(copy, names, period, asof.known, Basis(how, names.find("house", "MS")))  # type: ignore[arg-type]
    assert frame["adds_up"].all(), frame
    return frame.to_dicts()


def test_deaths_not_seen_are_deaths_of_their_age() -> None:
    told = Told(
        entry("birth", "2024-03-01", lot="MS-1", how_many=450, taxon="Chromis viridis", enclosure="N1"),
        entry("death", "2024-03-10", lot="MS-1", how_many=120),
        entry("count", "2024-03-31", lot="MS-1", how_many=212, **{"is": "deaths_not_seen"}),
    )
    (row,) = rolled(told)
    assert (row["hatched_and_born"], row["died_within_30"], row["closing"]) == (450, 238, 212)
    assert (row["count_deaths_unseen"], row["count_difference"]) == (118, 0)
    assert "count_unaccounted" not in row


def test_a_difference_is_told_by_what_it_is() -> None:
    told = Told(
        lot("MS-1", 50),
        entry("count", "2024-02-01", lot="MS-1", how_many=47),
        entry("count", "2024-03-01", lot="MS-1", how_many=52, **{"is": "young_not_seen"}),
        entry("count", "2024-04-01", lot="MS-1", how_many=51, **{"is": "miscount_of_estimate"}),
        entry("count", "2024-05-01", lot="MS-1", how_many=50, **{"is": "deaths_not_seen"}),
        entry("fed_out", "2024-06-01", lot="MS-1", how_many=4),
    )
    (row,) = rolled(told)
    parts = ("count_unaccounted", "count_young_unseen", "count_estimate")
    assert [row[c] for c in (*parts, "count_difference")] == [-3, 5, -1, 1]
    assert (row["count_deaths_unseen"], row["died_older"], row["died_age_unknown"]) == (1, 1, 0)
    assert (row["fed_out"], row["closing"]) == (4, 46)


def test_a_standing_changed_moves_between_its_rows() -> None:
    told = Told(lot("MS-1", 10), entry("standing_change", "2024-02-01", lot="MS-1", standing="study"))
    assert {r["standing"]: (r["standing_changed"], r["closing"]) for r in rolled(told)} == {
        "collection": (-10, 0),
        "study": (10, 10),
    }


def test_a_lot_that_is_not_counted_is_present_and_never_added() -> None:
    food = {k: v for k, v in lot("MS-2", 0).items() if k != "how_many"} | {"kept": "not_counted"}
    told = Told(lot("MS-1", 10), food)
    units = {r["unit"]: r["closing"] for r in rolled(told)}
    assert units["animals"] == 10 and set(units) == {"animals", "not_counted"}
    copy, names, asof = told.asked("2024-12-31")
    rows = census(copy, names, asof, Basis("held", names.find("house", "MS")), ["class"]).to_dicts()
    assert {r["unit"]: r["total"] for r in rows} == {"animals": 10, "not_counted": 1}


def test_names_in_use_on_the_day_and_today() -> None:
    told = Told(
        lot("MS-1", 10),
        lot("MS-2", 5, taxon="Hippocampus kuda"),
        lot("MS-3", 7, taxon="Hippocampus reidi"),
        entry("taxon_renamed", "2024-05-01", taxon="Chromis viridis", name="Chromis nova"),
        entry("taxa_united", "2024-06-01", taxon="Hippocampus reidi", united_into="Hippocampus kuda"),
    )

    def on(day: str, **how: bool) -> dict[str, int]:
        copy, names, asof = told.asked(day, **how)
        rows = census(copy, names, asof, Basis("held", names.find("house", "MS")), ["taxon"])
        return dict(rows.select("taxon", "total").iter_rows())

    before = {"Chromis viridis": 10, "Hippocampus kuda": 5, "Hippocampus reidi": 7}
    now = {"Chromis nova": 10, "Hippocampus kuda": 12}
    assert on("2024-04-30") == before
    assert on("2024-04-30", today_names=True) == on("2024-06-01") == now
    assert {r["taxon"]: (r["opening"], r["closing"]) for r in rolled(told)} == {t: (n, n) for t, n in now.items()}
    assert {r["taxon"] for r in rolled(told, 2023)} == set(before)
    assert {r["taxon"] for r in rolled(told, 2023, today_names=True)} == set(now)


def test_a_shipment_with_all_its_papers() -> None:
    told = Told(
        entry("permit", "2023-01-01", permit="P-1", authority="CWO", **{"from": "2023-01-01"}, until="2024-12-31"),
        entry("agreement", "2023-01-01", agreement="C-1", terms="exchange", parties=["MS", "OSC"]),
        lot("MS-1", 50),
        entry("birth", "2023-09-01", into="MS-1", how_many=6, enclosure="T3"),
        entry(
            *("transfer", "2024-01-02"), lot="MS-1", **{"from": "MS"}, to="OSC", terms="exchange", left="2023-12-30",
            sent=20, arrived_alive=17, dead_on_arrival=3, permits=["P-1", "X-7"], agreement="C-1",
            source_code="C", purpose_code="Z", number_there="O-5",
        ),
    )  # fmt: skip
    copy, names, asof = told.asked("2024-12-31")
    basis = Basis("held", names.find("house", "MS"))
    frame = register(copy, names, Period(date(2024, 1, 1), asof.on), asof.known, basis)
    out, dead = sorted(frame.to_dicts(), key=lambda r: -r["total"])
    assert (out["sent"], out["arrived_alive"], out["dead_on_arrival"], out["total"], dead["total"]) == (
        20,
        17,
        3,
        17,
        3,
    )
    assert (out["left"], out["arrived"], out["date"]) == (date(2023, 12, 30), date(2024, 1, 2), date(2024, 1, 2))
    assert out["permits"] == "P-1, X-7" and out["agreement"] == "C-1" and out["number_there"] == "O-5"
    assert out["permit_details"] == (
        "P-1 (Coastal Wardens Office, 2023-01-01 to 2024-12-31); X-7 (not in the register)"
    )
    assert out["sources"] == "50 on hand when the book began 2023-06-01; 6 born 2023-09-01"
    assert (dead["manner"], dead["cause"]) == ("died", "dead_on_arrival")
    at_new_year = census(copy, *_on(told, "2023-12-31"), basis, ["enclosure"])
    assert dict(at_new_year.select("enclosure", "total").iter_rows()) == {"T3": 36, "in transit": 20}


def _on(told: Told, day: str) -> tuple[Names, Any]:
    _, names, asof = told.asked(day)
    return names, asof


def test_an_outside_animal_bears_our_number_once_it_arrives() -> None:
    told = Told(
        entry("outside_animal", "2023-01-01", animal="OSC-88", party="OSC", taxon="Phoca vitulina", sex="m"),
        animal("MS-1"),
        entry("birth", "2024-01-05", animal="MS-2", sex="f", taxon="Phoca vitulina", enclosure="T3", dam="MS-1",
              sire="OSC-88", owner="MS"),
    )  # fmt: skip
    copy, names, asof = told.asked("2024-12-31")
    rows = register(copy, names, year(2024, 1, 1), asof.known, Basis("held", names.find("house", "MS"))).to_dicts()
    assert [(r["manner"], r["sources"]) for r in rows] == [("born", "dam MS-1, sire OSC-88")]
