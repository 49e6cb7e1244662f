"""Anemonefish: a group loses its female and every fish moves up; another's male begins to change and gives it up."""

from __future__ import annotations

from datetime import date, timedelta

from demo_events.diary import Diary
from demo_events.stories.common import dwindle, spoken, stocktake
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

PERCULA, SKUNK, HOST = "Amphiprion percula", "Amphiprion akallopisos", "Entacmaea quadricolor"


def tell(diary: Diary, place: int) -> None:
    """Two groups, each in its anemone."""
    s = Story(diary, place, "anemonefish", "Reef Hall", "SN CT AE")
    s.opening(HOST, "R3", "u", arrived="2020", origin="wild")
    s.opening(HOST, "R4", "u", arrived="2021", origin="bred")
    _garden(s)
    _skunks(Story(diary, place + 1, "skunk clownfish", "Reef Hall", "SN CT AE"))


def _garden(s: Story) -> None:
    """The Anemone Garden: a female, a male, three that do not breed."""
    bred = {"origin": "bred", "earlier_house": "VBA"}
    first: Animal = s.opening(PERCULA, "R3", "f", born="2016", name="Coral", **bred)
    second: Animal = s.opening(PERCULA, "R3", "m", born="2018", name="Tansy", **bred)
    third: Animal = s.opening(PERCULA, "R3", "u", born="2020", name="Burr", **bred)
    fourth: Animal = s.opening(PERCULA, "R3", "u", born="2021", name="Fennel", **bred)
    fifth: Animal = s.opening(PERCULA, "R3", "u", born="2021", **bred)
    s.note(
        date(2023, 2, 21),
        "behaviour",
        Words("Order at feeding: {0}, {1}, {2}, {3}, then the smallest.", first, second, third, fourth),
    )
    young = _nest(s, date(2023, 6, 17), first, second, 64, 0.45)
    s.send(date(2023, 11, 14), young, "BOA", "sale", {"u": 18})
    s.send(date(2024, 1, 16), young, "VBA", "donation", {"u": 8})
    s.note(
        date(2023, 9, 5),
        "behaviour",
        Words("Eggs on the tile again; {0} fans them, {1} drives off the shrimps.", second, first),
    )
    s.die(
        date(2024, 2, 11),
        first,
        cause="equipment_failure",
        circumstance="found_dead",
        note="On the floor behind the tank; a lid stood open after the lamp was changed.",
    )
    s.note(date(2024, 2, 14), "behaviour", Words("{0} now feeds first; {1} takes the place beside it.", second, third))
    s.change(
        "2024-02-27/2024-02-29",
        second,
        "f",
        "first_sign",
        basis="behaviour",
        note="Leads the patrol and bites back at its own reflection.",
    )
    s.change(
        "2024-04-02/2024-04-08",
        second,
        "f",
        "completed",
        basis="spawning",
        note="Spawned as a female; eggs fertile.",
        late=1,
    )
    s.sexing(date(2024, 4, 10), third, "m", basis="matured")
    s.note(
        date(2024, 8, 20),
        "behaviour",
        Words("Order at feeding: {0}, {1}, {2}, then the smallest.", second, third, fourth),
    )
    s.move(date(2024, 10, 8), fifth, "V1", note="Bitten at the tail; set apart.")
    s.die(date(2024, 10, 29), fifth, cause="aggression", circumstance="died_under_care")
    later = _nest(s, date(2025, 5, 24), second, third, 88, 0.4)
    s.draw(date(2025, 11, 4), later, "u", name="Madder")
    s.send(date(2025, 11, 18), later, "BOA", "sale", {"u": 20})
    last = _nest(s, date(2026, 6, 6), second, third, 73, 0.38)
    s.move(date(2026, 10, 13), last, "V1")


def _nest(s: Story, on: date, dam: Animal, sire: Animal, n: int, lived: float) -> Lot:
    """A nest raised: hatched by night, eight days after it was laid."""
    note = f"Laid on {spoken(on - timedelta(days=8))}; tile taken to the rearing tank on the last evening."
    lot: Lot = s.hatching(on, PERCULA, "N3", {"u": n}, dam=dam, sire=sire, note=note)
    dwindle(s, lot, on + timedelta(days=2), 27, int(n * (1 - lived)), 4)
    stocktake(
        s, lot, on + timedelta(days=41), s.dice.between(0, 2), source={"kind": "count_sheet", "ref": "rearing N3"}
    )
    return lot


def _skunks(s: Story) -> None:
    """The Skunk Reef: the female is lent; the male begins to change; she is back, and he gives it up."""
    wild = {"origin": "wild", "arrived": "2021-09"}
    female: Animal = s.opening(SKUNK, "R4", "f", name="Vellum", **wild)
    male: Animal = s.opening(SKUNK, "R4", "m", name="Quill", **wild)
    small: Animal = s.opening(SKUNK, "R4", "u", **wild)
    s.note(
        date(2024, 7, 9),
        "behaviour",
        Words("{0} leads, {1} follows, the small one keeps to the rim.", female, male),
        female,
    )
    s.send(
        date(2025, 6, 3), female, "VBA", "breeding_loan", note="To a widowed male at Verrin Bay, until the end of July."
    )
    s.change(
        date(2025, 6, 21),
        male,
        "f",
        "first_sign",
        basis="behaviour",
        note="Stays at the centre of the anemone, no longer fans.",
    )
    s.come_back(date(2025, 7, 29), female, "VBA", "breeding_loan_return", "Q2")
    s.move(date(2025, 8, 19), female, "R4", note="Short quarantine: same water, health papers clear.")
    s.change(date(2025, 8, 27), male, "f", "given_up", basis="behaviour", note="Fans a nest again.")
    s.sexing(date(2026, 3, 10), small, "m", basis="matured", note="Chased to the rim; set apart soon.")
    s.move(date(2026, 3, 17), small, "V1")
