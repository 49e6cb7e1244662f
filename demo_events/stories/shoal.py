"""The shoal of the Outer Reef: hundreds under one number, through hospital, loan, split, draw and every count."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary
from demo_events.stories.common import settle, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Lot

CHROMIS = "Chromis viridis"


def tell(diary: Diary, place: int) -> None:
    """Blue-green chromis, unsexed throughout."""
    s = Story(diary, place, "shoal", "Reef Hall", "SN CT AE")
    shoal: Lot = s.opening(CHROMIS, "R1", {"u": 212}, origin="wild", arrived="2020/2022")
    _year_2023(s, shoal)
    _hospital_and_loan(s, shoal)
    _half_year_of_lateness(s, shoal)
    _year_2025(s, shoal)
    _year_2026(s, shoal)


def _year_2023(s: Story, shoal: Lot) -> None:
    """Small losses, a purchase through quarantine, the first stock take."""
    trickle(s, shoal, date(2023, 1, 16), date(2023, 6, 10), 5)
    stocktake(s, shoal, date(2023, 6, 15), 4, note="Counted from three photographs; four fewer than the book.")
    trickle(s, shoal, date(2023, 6, 20), date(2023, 9, 4), 3)
    bought: Lot = s.receive(
        date(2023, 9, 12), "HTL", CHROMIS, "Q2", {"u": 60}, "sale", source_code="W", purpose_code="Z"
    )
    settle(s, bought, date(2023, 9, 12), "R1", 8, 36, into=shoal)
    trickle(s, shoal, date(2023, 10, 25), date(2023, 12, 8), 3)
    stocktake(s, shoal, date(2023, 12, 12), 2)


def _hospital_and_loan(s: Story, shoal: Lot) -> None:
    """Flukes: twelve to the hospital tank, five die there, seven come back. Then forty go on loan."""
    trickle(s, shoal, date(2024, 1, 8), date(2024, 3, 1), 3)
    s.move(date(2024, 3, 5), shoal, "H1", {"u": 12}, note="Flashing, fins clamped; flukes on the scrape.")
    s.die(date(2024, 3, 7), shoal, {"u": 3}, "H1", cause="parasites", circumstance="died_under_care")
    s.die(date(2024, 3, 11), shoal, {"u": 2}, "H1", cause="parasites", circumstance="died_under_care")
    s.move(date(2024, 3, 26), shoal, "R1", {"u": 7}, "H1")
    trickle(s, shoal, date(2024, 4, 2), date(2024, 5, 10), 2)
    s.send(date(2024, 5, 14), shoal, "VBA", "loan", {"u": 40}, note="For their summer tank, back in October.")


def _half_year_of_lateness(s: Story, shoal: Lot) -> None:
    """A death before the midsummer count is typed in August; the loan ends three ways in October."""
    stocktake(
        s, shoal, date(2024, 6, 28), 7, at="R1", note="Seven fewer than the book; the pump chamber is to be looked at."
    )
    late = {
        "sheet": date(2024, 8, 5),
        "late": 46,
        "counted": True,
        "accept": {"late": "Sheet found in the workshop on 5 August."},
    }
    s.die(
        date(2024, 6, 20),
        shoal,
        {"u": 4},
        "R1",
        cause="equipment_failure",
        circumstance="found_dead",
        note="In the pump chamber, behind the loose screen.",
        **late,
    )
    s.die(
        date(2024, 8, 19),
        shoal,
        {"u": 3},
        "VBA",
        late=8,
        unseen=True,
        cause="not_determined",
        circumstance="found_dead",
        source={"kind": "letter", "ref": "Verrin Bay, letter of 26 August"},
    )
    trickle(s, shoal, date(2024, 9, 2), date(2024, 10, 6), 2, at="R1")
    s.come_back(date(2024, 10, 15), shoal, "VBA", "loan_return", "Q2", {"u": 25})
    s.title(
        date(2024, 10, 15),
        shoal,
        "VBA",
        {"u": 12},
        from_="VBA",
        terms="donation",
        unseen=True,
        note="They may keep twelve.",
    )
    s.die(date(2024, 10, 22), shoal, {"u": 1}, "Q2", cause="transport", circumstance="found_dead")
    s.move(date(2024, 11, 19), shoal, "R1", {"u": 24}, "Q2")
    stocktake(s, shoal, date(2024, 12, 10), 1)


def _year_2025(s: Story, shoal: Lot) -> None:
    """A death typed twice; fifty under a number of their own and back; one fish told apart for half a year."""
    trickle(s, shoal, date(2025, 1, 13), date(2025, 2, 12), 2)
    death = {"cause": "parasites", "circumstance": "found_dead"}
    s.die(date(2025, 2, 18), shoal, {"u": 1}, **death)
    twice = s.die(
        date(2025, 2, 18),
        shoal,
        {"u": 1},
        counted=True,
        late=1,
        source={"kind": "hospital_book", "ref": "page 31"},
        accept={"very-like": "Taken for a second fish."},
        **death,
    )
    s.strike_out(twice, date(2025, 2, 25), "mistake", "One fish, on two sheets: the aquarist's and the hospital book.")
    fifty = s.split(date(2025, 3, 18), shoal, {"u": 50}, to="V2", note="For the workshop window.")
    trickle(s, fifty, date(2025, 4, 1), date(2025, 5, 12), 1)
    notch = s.draw(
        date(2025, 5, 20), fifty, "u", name="Notch", note="Tail notched from birth; followed for a school project."
    )
    s.mark(date(2025, 5, 20), notch, "photo_pattern", "tail, upper lobe missing", side="left")
    trickle(s, fifty, date(2025, 6, 2), date(2025, 8, 12), 2)
    bought: Lot = s.receive(
        date(2025, 6, 17), "HTL", CHROMIS, "Q2", {"u": 45}, "sale", source_code="W", purpose_code="Z"
    )
    settle(s, bought, date(2025, 6, 17), "R1", 6, 34, into=shoal)
    s.merge(date(2025, 8, 26), fifty, shoal, "R1")
    s.join(date(2025, 10, 7), notch, shoal, "R1", note="Project over; goes back to the shoal, no longer told apart.")
    trickle(s, shoal, date(2025, 10, 14), date(2025, 12, 1), 2)
    stocktake(s, shoal, date(2025, 12, 9), 2)


def _year_2026(s: Story, shoal: Lot) -> None:
    """Another sheet comes late and turns a loss into a gain; thirty are sold."""
    s.die(
        date(2025, 12, 2),
        shoal,
        {"u": 3},
        sheet=date(2026, 1, 20),
        late=49,
        counted=True,
        cause="disease_infectious",
        circumstance="died_under_care",
        source={"kind": "hospital_book", "ref": "page 44"},
        accept={
            "late": "The hospital book is read through once a year.",
            "loss-turned-gain": "The stock take missed one in the rockwork; three carcasses are in the freezer.",
        },
    )
    trickle(s, shoal, date(2026, 1, 26), date(2026, 6, 8), 5)
    stocktake(s, shoal, date(2026, 6, 16), 3)
    s.send(date(2026, 9, 8), shoal, "CBC", "sale", {"u": 30})
    trickle(s, shoal, date(2026, 9, 21), date(2026, 11, 9), 3)
