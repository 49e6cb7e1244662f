"""Catsharks and rays: births known to a day, a month or a season; loans; a mistyped number; young let go."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary
from demo_events.stories.common import chip, clear, dwindle, stocktake
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

CATSHARK, RAY = "Scyliorhinus canicula", "Raja undulata"
# day, month or season of hatching from the egg-cases; how many days after its end it was typed; sex at the first look
HATCHED: tuple[tuple[str, int, str], ...] = (
    ("2023-03-19", 0, "f"),
    ("2023-04-02", 0, "m"),
    ("2023-06", 4, "u"),
    ("2023-11-12", 0, "f"),
    ("2024-02", 6, "m"),
    ("2024-05-21", 0, "f"),
    ("2024-24", 9, "u"),
    ("2025-03-30", 0, "f"),
    ("2025-06-08", 0, "m"),
    ("2025-10", 3, "u"),
    ("2026-02-22", 0, "m"),
    ("2026-05", 5, "f"),
    ("2026-09-13", 0, "u"),
)


def tell(diary: Diary, place: int) -> None:
    """The Wreck's catsharks, the Sand Flats' rays."""
    _catsharks(Story(diary, place, "catsharks", "Sound Hall", "FO CT"))
    _rays(Story(diary, place + 1, "rays", "Sound Hall", "FO CT AE"))


def _catsharks(s: Story) -> None:
    """Egg-cases are laid all year; which female laid them is rarely seen."""
    adults = [
        s.opening(CATSHARK, "C5", sex, origin="wild", arrived=arrived, earlier_numbers=[card])
        for sex, arrived, card in (
            ("m", "2017", "F-088"),
            ("m", "2019-10", "F-131"),
            ("m", "2020", "F-140"),
            ("f", "2017", "F-089"),
            ("f", "2018~", "F-102"),
            ("f", "2019-10", "F-132"),
            ("f", "2021", "F-151"),
        )
    ]
    for adult in adults[:4]:
        s.mark(date(2023, 2, 7), adult, "transponder", chip(s), place="dorsal muscle", side="left")
    young = [_pup(s, *born) for born in HATCHED]
    _away(s, adults[1], adults[5])
    _newcomer(s)
    for pup, day in zip(
        (young[0], young[1], young[3]), (date(2024, 4, 9), date(2024, 4, 9), date(2024, 10, 22)), strict=True
    ):
        s.move(day, pup, "C5")
    for pup, to, day in (
        (young[4], "NSP", date(2025, 4, 1)),
        (young[5], "NSP", date(2025, 4, 1)),
        (young[8], "CBC", date(2026, 3, 31)),
    ):
        s.send(day, pup, to, "exchange", number_there=f"{to}-{s.dice.between(1200, 4800)}")
    s.sexing(date(2024, 3, 26), young[2], "f", basis="examination")
    s.die(date(2024, 6, 4), young[2], cause="not_determined", circumstance="found_dead")
    s.die(
        "2025-08-30/2025-08-31", adults[3], cause="reproduction", circumstance="found_dead", note="Egg-case retained."
    )


def _pup(s: Story, born: str, late: int, sex: str) -> Animal:
    """One out of an egg-case; four in five live."""
    note = (
        "Egg-case found empty; hatched some time in these months." if len(born) < 10 else "Out of the case by morning."
    )
    pup: Animal = s.hatching(born, CATSHARK, "N4", sex, late=late, note=note)
    return pup


def _away(s: Story, male: Animal, female: Animal) -> None:
    """Two on loan to Corrigan Bay: he comes back after nine months, she dies there."""
    for one in (male, female):
        s.send(date(2023, 9, 26), one, "CBC", "loan", note="For their new cold gallery, nine months.")
    s.die(
        date(2024, 3, 2),
        female,
        late=10,
        unseen=True,
        source={"kind": "letter", "ref": "Corrigan Bay, report of 12 March"},
        cause="disease_infectious",
        circumstance="died_under_care",
        note="Died at Corrigan Bay; examined there, report on file.",
    )
    s.come_back(date(2024, 6, 18), male, "CBC", "loan_return", "Q1")
    clear(s, male, date(2024, 6, 18), "C5")


def _newcomer(s: Story) -> None:
    """A gift whose number was typed the wrong way round; the number is put right and the animal stays who it is."""
    animal, line = s.receive_line(
        date(2024, 9, 3),
        "VBA",
        CATSHARK,
        "Q1",
        "f",
        "donation",
        born="2021",
        origin="bred",
        number_there="VB-20417",
        slip=True,
    )
    s.correct(
        line,
        date(2024, 9, 5),
        "mistake",
        "Last two digits of the accession number the wrong way round; the tag says so.",
    )
    clear(s, animal, date(2024, 9, 3), "C5")
    s.mark(date(2024, 10, 15), animal, "transponder", chip(s), place="dorsal muscle", side="left")


def _rays(s: Story) -> None:
    """Undulate rays: young of a summer as one lot, some let go under permit with tags of the university."""
    adults = [s.opening(RAY, "C3", sex, origin="wild", arrived="2018") for sex in "mmfff"]
    s.note(
        date(2023, 3, 7),
        "behaviour",
        Words("{0} bites at the wing of {1}; pairing likely.", adults[0], adults[3]),
        adults[3],
    )
    summer: Lot = s.hatching(
        "2023-22", RAY, "N6", {"u": 16}, late=5, note="Egg-cases of the spring; hatched over the summer, days not kept."
    )
    dwindle(s, summer, date(2023, 9, 8), 40, 4, 2)
    stocktake(s, summer, date(2023, 12, 13))
    s.sexing(date(2024, 5, 14), summer, "m", {"u": 5}, basis="examination")
    s.sexing(date(2024, 5, 14), summer, "f", {"u": 7}, basis="examination")
    s.mark(date(2025, 4, 22), summer, "tag", "USH-RU 201 to 212", place="wing, trailing edge")
    s.lose(
        "release",
        date(2025, 5, 20),
        summer,
        {"m": 3, "f": 5},
        site="Marrow Sound, outer sand bar",
        permit="LCNA-2025-0306",
    )
    s.send(date(2025, 6, 10), summer, "USH", "donation", {"m": 1, "f": 1}, purpose_code="S")
    s.move(date(2025, 7, 1), summer, "C3")
    stocktake(s, summer, date(2025, 12, 10))
    single: Animal = s.hatching(
        date(2024, 7, 7),
        RAY,
        "N6",
        "u",
        dam=adults[3],
        sire=adults[0],
        note="The one case seen laid; both parents seen.",
    )
    s.sexing(date(2025, 3, 4), single, "f", basis="examination")
    s.move(date(2025, 7, 1), single, "C3")
    s.die(date(2025, 1, 21), adults[4], cause="trauma", circumstance="died_under_care", note="Prolapse after a bite.")
    again: Lot = s.hatching("2025-22", RAY, "N6", {"u": 11}, late=4, note="Hatched over the summer.")
    dwindle(s, again, date(2025, 9, 6), 40, 3, 2)
    stocktake(s, again, date(2025, 12, 10))
    s.send(date(2026, 5, 12), again, "VBA", "donation", {"u": 4})
