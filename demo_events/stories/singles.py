"""Short stories of the Sound Hall: lobsters, a grouper on loan, shrimps that change, gobies that were others."""

from __future__ import annotations

from datetime import date
from typing import Any

from demo_events.diary import Diary
from demo_events.stories.common import clear, mistyped, settle, stocktake
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

LOBSTER, GROUPER, CONGER, MORAY = "Homarus gammarus", "Epinephelus marginatus", "Conger conger", "Muraena helena"
TRIGGER, SHRIMP, BREAM, GILTHEAD = "Balistes capriscus", "Lysmata seticaudata", "Diplodus vulgaris", "Sparus aurata"
GOBY, ROCK_GOBY, BEADLET = "Gobius niger", "Gobius paganellus", "Actinia equina"


def tell(diary: Diary, place: int) -> None:
    """Eight short stories."""
    for k, (name, told) in enumerate(
        (
            ("lobsters", _lobsters),
            ("wreck", _wreck),
            ("grouper", _grouper),
            ("shrimps", _shrimps),
            ("bream of two owners", _bream),
            ("giltheads", _giltheads),
            ("gobies", _gobies),
            ("beadlets", _beadlets),
        )
    ):
        told(Story(diary, place + k, name, "Sound Hall", "FO AE CT"))


def _lobsters(s: Story) -> None:
    """Tagged lobsters; one blue; a tag lost with the shell; some go back to the sea."""
    kept: list[Animal] = []
    for k, (sex, arrived) in enumerate((("m", "2019"), ("f", "2020"), ("f", "2021-08"), ("m", "2022-04"))):
        kept.append(s.opening(LOBSTER, "C8", sex, origin="wild", arrived=arrived))
        s.mark(date(2023, 1, 17), kept[-1], "tag", f"L{k + 7:02}", colour="red", place="knuckle", side="right")
    blue: Animal = s.acquire(
        date(2023, 7, 11),
        LOBSTER,
        "Q3",
        "f",
        "wild_collection",
        where="Marrow Sound, handed in from a pot",
        permit="LCNA-2023-0419",
        name="Cobalt",
    )
    clear(s, blue, date(2023, 7, 11), "C8", 21)
    s.mark(date(2023, 8, 8), blue, "tag", "L11", colour="white", place="knuckle", side="right")
    s.unmark(date(2024, 6, 12), kept[1], "tag", "L08", note="Left with the shell.")
    s.mark(date(2024, 7, 3), kept[1], "tag", "L12", colour="red", place="knuckle", side="right")
    s.die(
        date(2024, 6, 28), kept[3], cause="cannibalism", circumstance="killed_by_another", note="Soft after the moult."
    )
    s.lose("release", date(2025, 5, 6), kept[2], site="Marrow Sound, no-take reef", permit="LCNA-2025-0190")
    s.note(date(2025, 9, 30), "behaviour", Words("{0} carries eggs under the tail.", blue), blue)


def _wreck(s: Story) -> None:
    """Conger, moray and triggerfish: long-lived, and now and then one dies."""
    conger: Animal = s.opening(CONGER, "C5", "f", origin="wild", arrived="2018~", name="Hawser")
    s.opening(CONGER, "C5", "u", origin="wild", arrived="2021")
    morays = [s.opening(MORAY, "C5", "u", origin="wild", arrived=year) for year in ("2015", "2019")]
    triggers = [s.opening(TRIGGER, "C1", sex, origin="wild", arrived="2020") for sex in "mf"]
    s.note(date(2023, 11, 7), "diet", Words("{0} has stopped feeding; belly round.", conger), conger)
    s.die(
        date(2024, 1, 23), conger, cause="reproduction", circumstance="found_dead", note="Full of eggs, as congers end."
    )
    lent: Animal = s.receive(
        date(2024, 4, 16), "CBC", CONGER, "Q1", "u", "loan", number_there="CB-0933", name="Painter"
    )
    clear(s, lent, date(2024, 4, 16), "C5")
    s.send(date(2025, 4, 29), lent, "CBC", "loan_return")
    _wrong_fish(s, *triggers)
    s.die(date(2026, 3, 31), morays[0], cause="senescence", circumstance="died_under_care", sex_found="female")


def _wrong_fish(s: Story, male: Animal, female: Animal) -> None:
    """A death typed under the other triggerfish's number: struck out and entered anew, in one batch."""
    death: dict[str, Any] = {"cause": "not_determined", "circumstance": "found_dead"}
    wrong = s.die("2025-06-21/2025-06-23", female, counted=True, **death)
    day, batch = date(2025, 6, 25), "triggerfish, the right one"
    s.strike_out(wrong, day, "mistake", "It was the male; she is in the tank.", batch=batch)
    s.die("2025-06-21/2025-06-23", male, sheet=day, batch=batch, **death)


def _grouper(s: Story) -> None:
    """A grouper comes on loan and stays: its owner gives it to the house."""
    fish: Animal = s.receive(
        date(2023, 10, 3), "VBA", GROUPER, "Q1", "f", "loan", born="2012~", number_there="VB-11032", name="Bollard"
    )
    clear(s, fish, date(2023, 10, 3), "C1", 40)
    s.title(date(2025, 3, 11), fish, "MS", terms="donation", unseen=True, note="Verrin Bay gives it for good.")
    s.note(date(2025, 10, 14), "behaviour", Words("{0} follows the divers; takes squid from the hand.", fish), fish)


def _shrimps(s: Story) -> None:
    """Monaco shrimps begin as males and end as both."""
    lot: Lot = s.opening(SHRIMP, "C8", {"m": 7, "h": 11}, origin="wild", arrived="2022-09")
    stocktake(s, lot, date(2023, 12, 13), {"h": 1})
    s.change(
        "2024-05",
        lot,
        "h",
        "completed",
        {"m": 3},
        basis="examination",
        late=2,
        note="Eggs under the tail in three that were males in April.",
    )
    s.die(
        date(2024, 8, 27),
        lot,
        {"h": 2},
        cause="predation",
        circumstance="found_dead",
        note="Beneath the lobsters' ledge.",
    )
    stocktake(s, lot, date(2024, 12, 11), {"m": 1})
    s.die(date(2025, 7, 15), lot, {"h": 1}, cause="husbandry", circumstance="found_dead")
    stocktake(s, lot, date(2025, 12, 10))


def _bream(s: Story) -> None:
    """Our juvenile bream in reserve take in fifteen of Corrigan Bay's: one lot, two owners, told apart in the book."""
    ours: Lot = s.acquire(
        date(2025, 8, 5),
        BREAM,
        "Q1",
        {"u": 26},
        "wild_collection",
        where="Marrow Sound, off the slip, beach net",
        permit="LCNA-2025-0488",
    )
    s.die(date(2025, 8, 14), ours, {"u": 3}, cause="trauma", circumstance="found_dead")
    s.move(date(2025, 9, 2), ours, "V5")
    stocktake(s, ours, date(2025, 12, 10), 1)
    theirs: Lot = s.receive(
        date(2026, 2, 10), "CBC", BREAM, "Q1", {"u": 15}, "loan", note="Until their new tank is ready."
    )
    s.die(date(2026, 2, 16), theirs, {"u": 1}, cause="transport", circumstance="found_dead")
    accept = {"two-owners": "One tank, two owners: agreed with Corrigan Bay; theirs are clipped."}
    s.merge(date(2026, 3, 17), theirs, ours, "V5", accept=accept)
    s.die(date(2026, 5, 19), ours, {"u": 1}, cause="not_determined", circumstance="found_dead", owned_by="MS")
    s.die(
        date(2026, 7, 7),
        ours,
        {"u": 2},
        cause="equipment_failure",
        circumstance="found_dead",
        owned_by="CBC",
        note="Both clipped.",
    )


def _giltheads(s: Story) -> None:
    """Gilthead bream grow from males into females."""
    lot: Lot = s.opening(GILTHEAD, "C2", {"m": 9, "f": 6}, origin="bred", arrived="2021")
    stocktake(s, lot, date(2023, 12, 13))
    s.change(
        "2024-10",
        lot,
        "f",
        "completed",
        {"m": 2},
        basis="size",
        late=5,
        note="Told by size and shape at the autumn handling.",
    )
    s.die(date(2024, 11, 12), lot, {"f": 1}, cause="trauma", circumstance="found_dead")
    stocktake(s, lot, date(2024, 12, 11))
    stocktake(s, lot, date(2025, 12, 10), {"m": 1})


def _gobies(s: Story) -> None:
    """Bought as black gobies; under the lens four weeks later they are rock gobies."""
    old: Lot = s.opening(GOBY, "C4", {"u": 15}, origin="wild")
    stocktake(s, old, date(2023, 12, 13), 1)
    stocktake(s, old, date(2024, 12, 11))
    lot: Lot = s.receive(date(2025, 1, 14), "HTL", GOBY, "Q1", {"u": 14}, "sale")
    s.die(date(2025, 1, 20), lot, {"u": 1}, cause="transport", circumstance="found_dead")
    s.put(
        "redetermination",
        date(2025, 2, 11),
        {"lot": lot, "taxon": ROCK_GOBY, "basis": "morphology", "sure": "certain"},
        note="Free rays above the pectoral fin, pale edge of the first dorsal. The dealer was told.",
    )
    lot.taxon, lot.last = ROCK_GOBY, date(2025, 2, 11)
    settle(s, lot, date(2025, 1, 14), "C4", 0, 34)
    s.die(date(2025, 8, 26), lot, {"u": 1}, cause="predation", circumstance="found_dead")
    stocktake(s, old, date(2025, 12, 10), 2)
    stocktake(s, lot, date(2025, 12, 10))


def _beadlets(s: Story) -> None:
    """Beadlet anemones let out small ones; they are entered by the month and counted in December."""
    lot: Lot = s.opening(BEADLET, "C4", {"u": 38}, origin="wild")
    for year, n, missed in ((2023, 9, 3), (2024, 14, 5), (2025, 11, 2), (2026, 12, 0)):
        s.young_into(
            "birth",
            f"{year}-04",
            lot,
            "C4",
            {"u": n},
            late=s.dice.between(2, 6),
            note="Small ones on the glass, over the month.",
        )
        if year < 2026:
            line = stocktake(s, lot, date(year, 12, 13 if year == 2023 else 11 if year == 2024 else 10), missed)
            if year == 2024:
                wrong = {"u": line.payload["how_many"]["u"] + 30}
                text = "Read off the wrong row of the tally sheet."
                mistyped(s, line, date(2024, 12, 12), "mistake", "how_many", wrong, text)
