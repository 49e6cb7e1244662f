"""A life holds to plain walking: its places to every day, its entries to the log, its card to the inventory."""

from __future__ import annotations

import random
import re
import shutil
import subprocess
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from oracle.scene import SPAN, START
from oracle.trial import Trial
from oracle_life import Walked
from test_conservation import random_book
from test_page import is_whole
from told_books import Told, animal, entry, lot

from ledger.read import AsOf, Copy, Names
from reports.life import Life, life
from reports.life_chart import balance_finding, bars, finding
from reports.life_evidence import evidence
from reports.life_lines import SCHEMA, TOPICS
from reports.life_page import CAUTION, from_words, render, subjects


@pytest.fixture(scope="module", params=range(5))
def trial(request: pytest.FixtureRequest) -> Trial:
    return random_book(4300 + request.param, steps=26)


def asked(trial: Trial, seed: int) -> tuple[Copy, list[AsOf], Walked]:
    """A copy, random pairs of day and position with the last of both, and the walker."""
    rng = random.Random(seed)
    last = date.fromordinal(START + SPAN + 5)
    asofs = [AsOf(last, trial.ends[-1])]
    asofs += [AsOf(last - timedelta(days=rng.randrange(SPAN + 6)), rng.choice(trial.ends)) for _ in range(3)]
    return Copy(trial.book.store), asofs, Walked(trial.book)


def told_life(copy: Copy, asof: AsOf, subject: str) -> Life:
    return life(copy, Names(copy, asof), asof, subject)


def test_places_of_every_day_are_those_of_the_journal(trial: Trial) -> None:
    copy, asofs, walked = asked(trial, 1)
    compared = 0
    for asof in asofs:
        names = Names(copy, asof)
        for subject in walked.subjects():
            stays = life(copy, names, asof, subject).lines.to_dicts()
            stays = [r for r in stays if r["topic"] == "place" and not r["through"] and r["days"] is not None]
            days = walked.places(subject, asof.on, asof.known)
            for day, stand in days.items():
                now = [r for r in stays if r["since"] <= day and (r["until"] is None or day < r["until"])]
                here = {r["ref"] or r["what"].replace(" ", "_") for r in now}  # escaped, missing, in transit
                assert here == set(stand), (subject, day, asof)
                compared += 1
            total = sum(r["days"] for r in stays)
            assert total == sum(len(stand) for stand in days.values()), (subject, asof)
    assert compared > 50


def test_days_of_its_places_add_up_to_its_days_in_the_house(trial: Trial) -> None:
    copy, asofs, walked = asked(trial, 2)
    seen = 0
    animals = [s for s in walked.subjects() if s.startswith("a-")]
    for asof in asofs:
        for subject in animals:
            days = walked.places(subject, asof.on, asof.known)
            in_house = sum(any(place.startswith("e-") for place in stand) for stand in days.values())
            assert told_life(copy, asof, subject).days == in_house
            seen += in_house
    assert seen or not animals


def test_no_entry_is_left_out_and_none_is_anothers(trial: Trial) -> None:
    copy, asofs, walked = asked(trial, 3)
    for asof in asofs:
        for subject in walked.subjects():
            told = told_life(copy, asof, subject)
            own = {root for row in told.lines.to_dicts() if not row["through"] for root in row["events"]}
            assert walked.standing(subject, asof.on, asof.known) <= own
            assert own <= walked.naming(subject, asof.known)
            assert {e.seq for e in copy.story([subject], asof.known)} == {
                seq for root in walked.naming(subject, asof.known) for seq in walked.line_of(root, asof.known)
            }


def test_balances_are_the_journals(trial: Trial) -> None:
    copy, asofs, walked = asked(trial, 4)
    for asof in asofs:
        for subject in (s for s in walked.subjects() if s.startswith("g-")):
            told = told_life(copy, asof, subject).balances
            days = walked.places(subject, asof.on, asof.known)
            for day, stand in days.items():
                upto = [r for r in told.to_dicts() if r["day"] <= day]
                here = sum(n for place, n in stand.items() if place not in ("escaped", "missing"))
                assert (upto[-1]["total"] if upto else 0) == here, (subject, day)
                assert not upto or sum(upto[-1][s] for s in "mfhu") == here


def test_the_evidence_is_each_line_of_corrections_whole(trial: Trial) -> None:
    copy, asofs, walked = asked(trial, 5)
    for asof in asofs:
        names = Names(copy, asof)
        subject = min(walked.subjects())
        told = life(copy, names, asof, subject)
        rows = evidence(copy, names, asof, told.events).to_dicts()
        for root in told.events:
            mine = [r for r in rows if r["root"] == root]
            assert [r["seq"] for r in mine] == walked.line_of(root, asof.known)
            for row in mine:
                event = walked.events[row["seq"] - 1]
                assert (row["occurred"], row["recorded"]) == (event["occurred"]["edtf"], event["recorded"])


# --- what stands behind a line ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def seal() -> Told:
    """A stranded seal, marked, sent on; its death entered late, from a sheet, and mended twice."""
    return Told(
        entry("acquisition", "2021-02-03", animal="MS-1", sex="f", taxon="Phoca vitulina", enclosure="Q1",
              manner="stranding", where="north beach, below the light", born="2020-06~", name="Tansy"),
        entry("marking", "2021-02-10", animal="MS-1", scheme="transponder", value="900255902509430", place="neck"),
        entry("transfer", "2022-04-01", animal="MS-1", **{"from": "MS"}, to="OSC", terms="loan", number_there="O-9"),
        entry("transfer", "2023-04-01", animal="MS-1", **{"from": "OSC"}, to="MS", terms="loan_return", enclosure="T3"),
        {**entry("death", "2024-03-04/2024-03-05", animal="MS-1", label="died"),
         "recorded": "2024-03-09T09:00:00Z", "observed_by": ["BEN"],
         "source": {"kind": "day_sheet", "ref": "north hall, 4 March"}},
        {"correct": {"event": "died", "changes": {"circumstance": "found_dead"}, "reason": "mistake",
                     "text": "read the sheet again", "recorded": "2024-03-10T09:00:00Z"}},
    )  # fmt: skip


def of(told: Told, number: str, on: str = "2025-01-01", known: int = 0) -> Life:
    copy, names, asof = told.asked(on, known)
    (subject,) = subjects(names, number)
    return life(copy, names, asof, subject)


def test_behind_a_line_stand_writer_seer_source_lateness_and_what_it_superseded(seal: Told) -> None:
    copy, names, asof = seal.asked("2025-01-01")
    root = seal.seq("died")
    first, second = evidence(copy, names, asof, [root]).to_dicts()
    assert (first["seq"], first["late"], first["by"], first["seen_by"]) == (root, 4, "ADA", "BEN")
    assert first["source"] == "day sheet: north hall, 4 March"
    assert first["state"] == f"superseded by #{root + 1}" and second["state"] == "stands"
    assert (second["supersedes"], second["reason"], second["why"]) == (root, "mistake", "read the sheet again")
    assert second["changed"] == "circumstance: empty → found dead"
    assert "circumstance" not in first["said"] and "circumstance found dead" in second["said"]
    (then,) = evidence(copy, names, AsOf(asof.on, root), [root]).to_dicts()
    assert then["state"] == "stands"


def test_the_eight_items_of_an_inventory_of_marine_mammals(seal: Told) -> None:
    """16 USC 1374(c)(10), text seen: "The inventory shall contain, for each marine mammal, only the following".

    (A) name or other identification; (B) sex; (C) estimated or actual birth date; (D) date of acquisition or
    disposition by the permit holder; (E) source, "including the location of the take from the wild, if applicable";
    (F) if transferred, name of the recipient; (G) "A notation if the animal was acquired as the result of a
    stranding"; (H) date of death "and the cause of death when determined".
    """
    card = dict(of(seal, "MS-1").card.select("item", "words").iter_rows())
    assert card["identification"] == "MS-1; Tansy; number at Ostrey Sea Centre O-9; transponder 900255902509430"  # A
    assert card["sex"] == "female"  # B
    assert card["birth"] == "2020-06~, estimated"  # C
    assert card["acquired"] == "2021-02-03 stranding; 2023-04-01 loan return from Ostrey Sea Centre"  # D
    assert card["disposed"] == "2022-04-01 loan to Ostrey Sea Centre; 2024-03-05 death"  # D
    assert card["source"] == "stranding, north beach, below the light"  # E
    assert card["recipient"] == "Ostrey Sea Centre, loan 2022-04-01"  # F
    assert card["stranding"] == "yes, 2021-02-03, north beach, below the light"  # G
    assert card["death"] == "2024-03-04/2024-03-05, cause not determined"  # H
    alive = dict(of(seal, "MS-1", "2021-12-31").card.select("item", "words").iter_rows())
    assert (alive["disposed"], alive["recipient"], alive["death"]) == ("none", "none", "none")


def test_an_exact_birth_is_not_estimated_and_one_out_of_a_lot_is_the_lots() -> None:
    told = Told(
        entry("hatching", "2023-04-05", lot="MS-5", how_many=9, taxon="Chromis viridis", enclosure="N1"),
        entry("draw", "2023-08-01", lot="MS-5", new="MS-6", sex="u"),
        entry("transfer", "2024-02-01", animal="MS-6", **{"from": "MS"}, to="OSC", terms="loan"),
        entry("transfer", "2024-03-01", animal="MS-6", **{"from": "OSC"}, to="MS", terms="loan_return", enclosure="T3"),
    )
    card = dict(of(told, "MS-6").card.select("item", "words").iter_rows())
    assert card["birth"] == "2023-04-05 (of MS-5)"
    assert card["source"] == "hatched in Marrow Sound Aquarium"
    assert card["stranding"] == "no"
    assert card["acquired"] == (
        "2023-04-05 hatched (MS-5); 2023-08-01 drawn out of MS-5; 2024-03-01 loan return from Ostrey Sea Centre"
    )


def test_every_kind_that_names_it_has_a_line_and_topics_are_known() -> None:
    told = Told(
        animal("MS-1"),
        lot("MS-2", 9),
        entry("note", "2024-01-02", animal="MS-1", topic="diet", text="Herring only."),
        entry("sighting", "2024-01-03", animal="MS-1", seen=False),
        entry("measurement", "2024-01-04", animal="MS-1", measure="mass", value="82.5", unit="kg"),
        entry("count", "2024-01-05", lot="MS-2", how_many=9, enclosure="T3"),
        entry("standing_change", "2024-01-06", animal="MS-1", standing="study"),
        entry("escape", "2024-01-07", animal="MS-1"),
        entry("recovery", "2024-01-08", animal="MS-1", enclosure="T3"),
        entry("death", "2024-01-09", animal="MS-1"),
        entry("remains", "2024-01-12", animal="MS-1", fate="museum", to="OSC"),
    )
    rows = of(told, "MS-1").lines.to_dicts()
    assert {r["topic"] for r in rows} >= {"note", "sighting", "size", "standing", "loss", "end", "remains"}
    assert {r["topic"] for r in rows} <= set(TOPICS) and list(rows[0]) == list(SCHEMA)
    assert not [r for r in rows if r["topic"] == "further"]
    what = {r["topic"]: (r["what"], r["about"]) for r in rows}
    assert what["size"] == ("mass 82.5 kg", "") and what["note"] == ("diet", "“Herring only.”")
    assert what["sighting"][0] == "looked for, not seen" and what["remains"] == ("museum", "to Ostrey Sea Centre")
    places = [(r["what"], r["days"]) for r in rows if r["topic"] == "place"]
    assert places == [("T3 Kelp tank", 220), ("escaped", 1), ("T3 Kelp tank", 1)]


def test_later_entries_change_nothing_of_what_was_known(seal: Told) -> None:
    told = Told(animal("MS-1"), entry("move", "2024-01-02", animal="MS-1", to="R2", label="moved"))
    known = told.run.book.head[0]
    before = of(told, "MS-1", known=known)
    told.tell(entry("death", "2024-01-05", animal="MS-1"))
    told.tell({"strike_out": {"event": "moved", "reason": "mistake", "recorded": "2024-02-01T09:00:00Z"}})
    after = of(told, "MS-1", known=known)
    assert before.lines.equals(after.lines) and before.card.equals(after.card)
    assert [r["what"] for r in of(told, "MS-1").lines.to_dicts() if r["topic"] == "place"] == ["T3 Kelp tank"]


# --- page and chart ---------------------------------------------------------------------------------------------

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
NASTY = "<script>alert('x')</script>"


@pytest.fixture(scope="module")
def pages() -> list[str]:
    """Pages of an animal out of a lot and of that lot, with words that would act if they could."""
    told = Told(
        lot("MS-1", 40, name=NASTY),
        entry("death", "2023-08-01", lot="MS-1", how_many=2, cause_text=NASTY),
        entry("count", "2023-09-01", lot="MS-1", how_many=30, enclosure="T3", note=NASTY),
        entry("draw", "2023-10-01", lot="MS-1", new="MS-2", sex="u", to="R2", name=NASTY),
        entry("marking", "2023-10-02", animal="MS-2", scheme="tag", value="B7", note="\u202e"),
        entry("release", "2024-02-01", animal="MS-2", site=NASTY),
    )
    copy, names, asof = told.asked("2024-06-01")
    return [render(copy, names, asof, subjects(names, number)[0]) for number in ("MS-1", "MS-2")]


def test_a_page_is_whole_and_escaped(pages: list[str]) -> None:
    for text in pages:
        assert NASTY not in text and "\u202e" not in text
        assert "svg" in [tag for tag, _ in is_whole(text).tags]
        assert CAUTION in " ".join(is_whole(text).words)
    assert "through MS-1" in pages[1] and "Unexplained" in pages[0]


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")
def test_on_a_phone_the_page_does_not_scroll(pages: list[str], tmp_path: Path) -> None:
    measure = "<script>document.title = [innerWidth, document.documentElement.scrollWidth].join()</script></body>"
    page = tmp_path / "life.html"
    for text, width in ((pages[0], 390), (pages[1], 900)):
        page.write_text(text.replace("</body>", measure), encoding="utf-8")
        flags = ("--headless", "--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP * ~NOTFOUND")
        asked = [str(CHROMIUM), *flags, f"--window-size={width},900", "--dump-dom", str(page)]
        done = subprocess.run(asked, check=True, capture_output=True, text=True, timeout=120).stdout
        title = re.search(r"<title>(\d+),(\d+)</title>", done)
        assert title is not None and int(title[2]) <= int(title[1])


def test_the_sentence_over_the_picture_is_that_of_its_bars(seal: Told) -> None:
    told = of(seal, "MS-1")
    drawn = bars(told)
    assert drawn.filter(drawn["group"] == "place")["lane"].to_list() == [
        "Q1 Quarantine one", "Ostrey Sea Centre", "T3 Kelp tank",
    ]  # fmt: skip
    assert finding(drawn, "MS-1", "died 2024-03-05") == (
        "MS-1 is followed from 3 February 2021 through 3 places; died 2024-03-05."
    )


def test_the_sentence_over_a_balance() -> None:
    told = Told(lot("MS-1", 40), entry("count", "2023-09-01", lot="MS-1", how_many=37, enclosure="T3"))
    assert balance_finding(of(told, "MS-1").balances, "MS-1") == (
        "MS-1 began with 40, had 40 at most and 37 at the end; 1 count, 1 with an unexplained difference, −3 together."
    )


def test_overlapping_broods_lie_in_lanes_of_their_own() -> None:
    more: dict[str, Any] = {"taxon": "Phoca vitulina", "mode": "womb"}
    told = Told(
        animal("MS-1"),
        entry("brood", "2024-01-01", brood="B1", dam="MS-1", **more),
        entry("brood", "2024-01-10", brood="B2", dam="MS-1", **more),
        entry("brood_end", "2024-01-20", brood="B1", unhatched=1),
        entry("brood", "2024-02-01", brood="B3", dam="MS-1", **more),
    )
    drawn = bars(of(told, "MS-1"))
    assert drawn.filter(drawn["group"] == "brood")["lane"].n_unique() == 2


def test_from_words_refuses_a_number_that_nobody_bears(seal: Told) -> None:
    copy, *_ = seal.asked("2025-01-01")
    assert from_words(copy, number="MS-1", on="2025-01-01", known_at="2025-01-01").life.number == "MS-1"
    with pytest.raises(KeyError, match="borne by 0"):
        from_words(copy, number="MS-99", on="2025-01-01", known_at="2025-01-01")
