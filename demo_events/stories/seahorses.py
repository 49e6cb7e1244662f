"""Seahorses and pipefish: pairs, broods out of the male's pouch, a mate lost and another found after a gap."""

from __future__ import annotations

from datetime import date, timedelta

from demo_events.diary import Diary
from demo_events.stories.common import ADULT_CAUSES, dwindle, mistyped, permit, stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot, Words

ERECTUS, BELLY, PIPE = "Hippocampus erectus", "Hippocampus abdominalis", "Doryrhamphus excisus"


def tell(diary: Diary, place: int) -> None:
    """Three taxa of the pipefish family."""
    lined = Lined(Story(diary, place, "seahorses", "Reef Hall", "SN CT AE"))
    lined.year_2023()
    lined.year_2024()
    lined.year_2025()
    lined.year_2026()
    _belly(Story(diary, place + 1, "big bellies", "Sound Hall", "FO CT"))
    _pipefish(Story(diary, place + 2, "pipefish", "Reef Hall", "SN CT"))


class Lined:
    """The lined seahorses: pair A on show, pair B in reserve, and what they bred."""

    def __init__(self, s: Story) -> None:
        self.s = s
        born = {"born": "2021", "origin": "bred", "earlier_house": "VBA"}
        self.fa: Animal = s.opening(ERECTUS, "R5", "f", **born, name="Sedge")
        self.ma: Animal = s.opening(ERECTUS, "R5", "m", **born, name="Rowan")
        self.fb: Animal = s.opening(ERECTUS, "V3", "f", **born)
        self.mb: Animal = s.opening(ERECTUS, "V3", "m", **born)
        self.m3: Animal = s.opening(ERECTUS, "V4", "m", born="2022", origin="bred", name="Tamsin's Knot")
        self.f4: Animal = s.opening(ERECTUS, "V4", "f", born="2022", origin="bred")
        self.stock: Lot | None = None

    def brood(self, on: date, dam: Animal, sire: Animal, at: str, n: int, lived: float, still: int = 0) -> Lot:
        """A brood, its losses, and the count of what is left."""
        s = self.s
        note = "From the pouch between six and nine in the morning." if still else "All out by nine."
        name = f"HE-{on.year}-{on:%m%d}"
        s.put(
            "brood",
            on - timedelta(days=17 + on.day % 5),
            {"brood": name, "taxon": ERECTUS, "dam": dam, "sire": sire, "carrier": sire, "mode": "pouch"},
            start_basis="seen",
            enclosure="V3" if dam is self.fb else dam.place,
            seen="SN",
        )
        lot: Lot = s.birth(on, ERECTUS, at, {"u": n}, brood=name, dam=dam, sire=sire, note=note)
        if still:
            fields = {"brood": name, "stillborn": {"n": still}, "cause": "not_determined"}
            s.put("brood_end", on, fields, seen="SN")
        lost = int(n * (1 - lived))
        dwindle(s, lot, on + timedelta(days=1), 28, lost, 4)
        unseen = s.dice.between(0, 3)
        stocktake(
            s,
            lot,
            on + timedelta(days=s.dice.between(33, 40)),
            unseen,
            source={"kind": "count_sheet", "ref": f"rearing {at}"},
        )
        dwindle(s, lot, on + timedelta(days=45), 50, max(2, lot.total() // 6), 2)
        return lot

    def keep(self, lot: Lot, on: date) -> None:
        """What was not given away goes to the reserve stock."""
        if self.stock is None:
            self.s.move(on, lot, "V4")
            self.stock = lot
        else:
            self.s.merge(on, lot, self.stock, "V4")

    def give(self, lot: Lot, on: date, to: str, n: int, terms: str = "donation") -> None:
        """Young to another house, with the papers they need."""
        papers = {"permits": [permit(self.s, on)], "source_code": "C", "purpose_code": "Z"}
        self.s.send(on, lot, to, terms, {"u": n}, **papers)

    def year_2023(self) -> None:
        """Two broods of pair A, one of pair B."""
        s = self.s
        s.note(
            date(2023, 2, 14),
            "behaviour",
            Words("{0} and {1} greet every morning at the same holdfast.", self.fa, self.ma),
            self.fa,
        )
        one = self.brood(date(2023, 5, 14), self.fa, self.ma, "N1", 86, 0.36, 4)
        two = self.brood(date(2023, 7, 3), self.fb, self.mb, "N2", 58, 0.31)
        self.give(one, date(2023, 9, 20), "VBA", 12)
        self.keep(one, date(2023, 10, 2))
        three = self.brood(date(2023, 10, 9), self.fa, self.ma, "N1", 74, 0.28, 2)
        self.keep(two, date(2023, 11, 6))
        assert self.stock
        stocktake(s, self.stock, date(2023, 12, 12), 1)
        self.give(three, date(2024, 1, 30), "OZG", 7)
        self.keep(three, date(2024, 2, 12))

    def year_2024(self) -> None:
        """The male of pair A dies; after seven weeks his place is taken, after another five there are eggs."""
        s = self.s
        assert self.stock
        s.sexing(date(2024, 3, 5), self.stock, "m", {"u": 6}, basis="examination")
        s.sexing(date(2024, 3, 5), self.stock, "f", {"u": 8}, basis="examination")
        four = self.brood(date(2024, 4, 11), self.fa, self.ma, "N1", 131, 0.24, 6)
        s.die(
            "2024-05-02/2024-05-03",
            self.ma,
            cause="not_determined",
            circumstance="found_dead",
            note="Behind the holdfast after the bank holiday; the female stayed by him.",
        )
        s.note(
            date(2024, 5, 6), "behaviour", Words("{0} alone; goes to the old holdfast every morning.", self.fa), self.fa
        )
        s.move(date(2024, 6, 19), self.m3, "R5", note="Introduced to the widowed female.")
        s.note(
            date(2024, 6, 27),
            "behaviour",
            Words("First greeting of {0} and {1}, both brightened.", self.fa, self.m3),
            self.m3,
        )
        five = self.brood(date(2024, 7, 15), self.fb, self.mb, "N2", 92, 0.3)
        s.note(date(2024, 8, 3), "behaviour", Words("Eggs passed from {0} to {1}, 06:40.", self.fa, self.m3), self.fa)
        six = self.brood(date(2024, 8, 22), self.fa, self.m3, "N3", 62, 0.22)
        self.give(four, date(2024, 9, 3), "BOA", 14, "sale")
        self.keep(four, date(2024, 9, 16))
        self.give(five, date(2024, 11, 12), "VBA", 12)
        self.keep(five, date(2024, 12, 2))
        stocktake(s, self.stock, date(2024, 12, 10), {"u": 2})
        self.keep(six, date(2025, 1, 20))

    def year_2025(self) -> None:
        """A third pair is drawn from the stock; the elder ones breed on."""
        s = self.s
        assert self.stock
        trickle(s, self.stock, date(2025, 1, 27), date(2025, 2, 28), 3)
        self.fc = s.draw(date(2025, 3, 11), self.stock, "f", name="Wrack")
        self.mc = s.draw(date(2025, 3, 11), self.stock, "m", name="Holdfast")
        s.move(date(2025, 4, 8), self.fc, "V2")
        s.move(date(2025, 4, 8), self.mc, "V2")
        seven = self.brood(date(2025, 5, 6), self.fa, self.m3, "N1", 118, 0.33, 3)
        s.note(
            date(2025, 6, 10),
            "behaviour",
            Words("{0} quivers at {1} through the mesh; his own mate is {2}.", self.mb, self.f4, self.fb),
            self.mb,
        )
        eight = self.brood(date(2025, 7, 21), self.fb, self.mb, "N2", 104, 0.27)
        self.give(seven, date(2025, 9, 9), "CBC", 18)
        nine = self.brood(date(2025, 9, 2) + timedelta(days=9), self.fa, self.m3, "N3", 96, 0.22, 5)
        self.keep(seven, date(2025, 9, 22))
        self.give(eight, date(2025, 11, 25), "BOA", 12, "sale")
        self.keep(eight, date(2025, 12, 1))
        s.die(date(2025, 12, 6), self.fb, cause="senescence", circumstance="found_dead")
        stocktake(s, self.stock, date(2025, 12, 9), {"u": 1, "m": 1})
        self.nine = nine

    def year_2026(self) -> None:
        """Pair C's first brood; the old female of pair A dies after her last."""
        s = self.s
        assert self.stock
        self.keep(self.nine, date(2026, 2, 9))
        s.sexing(date(2026, 2, 24), self.stock, "m", {"u": 14}, basis="examination")
        s.sexing(date(2026, 2, 24), self.stock, "f", {"u": 16}, basis="examination")
        for sex, n in (("m", 6), ("f", 6)):
            s.send(
                date(2026, 3, 17 + (sex == "f")),
                self.stock,
                "NSP",
                "exchange",
                {sex: n},
                permits=[permit(s, date(2026, 3, 10))],
                source_code="C",
                purpose_code="Z",
            )
        ten = self.brood(date(2026, 5, 10), self.fc, self.mc, "N2", 41, 0.4, 1)
        eleven = self.brood(date(2026, 6, 14), self.fa, self.m3, "N1", 140, 0.3, 8)
        s.die(
            date(2026, 7, 2),
            self.fa,
            cause="senescence",
            circumstance="died_under_observation",
            note="At least five years old; paired until the end.",
        )
        self.give(eleven, date(2026, 10, 6), "VBA", 20)
        self.keep(ten, date(2026, 10, 20))


def _belly(s: Story) -> None:
    """Big-belly seahorses: a lot by sex, one brood a year reared, few of it alive after a year."""
    adults: Lot = s.opening(BELLY, "C6", {"m": 6, "f": 8}, origin="bred", earlier_house="OZG", born="2021")
    young: Lot = s.birth(
        "2023-04", BELLY, "N2", {"u": 120}, late=2, note="Two pouches over the month, reared as one lot."
    )
    dwindle(s, young, date(2023, 5, 4), 27, 70, 5)
    dwindle(s, young, date(2023, 6, 5), 120, 26, 4)
    stocktake(s, adults, date(2023, 12, 13))
    stocktake(s, young, date(2023, 12, 13), 2)
    s.merge(date(2024, 4, 16), young, adults, "C6")
    trickle(s, adults, date(2024, 5, 2), date(2024, 11, 20), 3, causes=ADULT_CAUSES)
    s.die(date(2024, 11, 28), adults, {"m": 1}, cause="disease_infectious", circumstance="found_dead")
    stocktake(s, adults, date(2024, 12, 11))
    s.sexing(date(2025, 2, 18), adults, "m", {"u": 5}, basis="examination")
    s.sexing(date(2025, 2, 18), adults, "f", {"u": 4}, basis="examination")
    second: Lot = s.birth(date(2025, 4, 22), BELLY, "N2", {"u": 96})
    dwindle(s, second, date(2025, 4, 24), 28, 58, 5)
    dwindle(s, second, date(2025, 6, 2), 100, 17, 3)
    s.die(
        date(2025, 8, 19),
        adults,
        {"f": 1},
        cause="trauma",
        circumstance="found_dead",
        note="In the overflow comb; guard fitted.",
    )
    s.send(
        date(2025, 10, 14),
        second,
        "NSP",
        "donation",
        {"u": 9},
        permits=[permit(s, date(2025, 10, 7))],
        source_code="C",
        purpose_code="Z",
    )
    stocktake(s, adults, date(2025, 12, 10), {"f": 1})
    stocktake(s, second, date(2025, 12, 10))
    s.merge(date(2026, 3, 24), second, adults, "C6")
    trickle(s, adults, date(2026, 4, 6), date(2026, 10, 25), 3)


def _pipefish(s: Story) -> None:
    """A pair of bluestripe pipefish: the male dies, the female is alone for ten weeks, and pairs again."""
    female: Animal = s.opening(PIPE, "R6", "f", origin="wild", arrived="2022-05")
    male: Animal = s.opening(PIPE, "R6", "m", origin="wild", arrived="2022-05")
    first: Lot = s.hatching(
        date(2023, 8, 8), PIPE, "N3", {"u": 34}, dam=female, sire=male, note="From under the male's belly."
    )
    dwindle(s, first, date(2023, 8, 9), 24, 22, 5)
    s.move(date(2023, 10, 24), first, "V1")
    s.die(date(2024, 2, 27), male, cause="not_determined", circumstance="found_dead")
    stand_in = s.draw(date(2024, 4, 22), first, "u")
    s.sexing(date(2024, 4, 22), stand_in, "m", basis="examination")
    moved = s.move(date(2024, 5, 7), stand_in, "R6")
    mistyped(s, moved, date(2024, 5, 7), "slip", "to", "R5", "R5 typed for R6.")
    s.note(
        date(2024, 5, 13), "behaviour", Words("{0} and {1} share the cave under the ledge.", female, stand_in), female
    )
    s.send(date(2024, 9, 17), first, "HTL", "sale", {"u": 6})
    second: Lot = s.hatching(
        date(2025, 2, 20),
        PIPE,
        "N3",
        {"u": 27},
        sire=stand_in,
        note="His mate of last year was his own dam; dam not entered until settled.",
    )
    dwindle(s, second, date(2025, 2, 21), 25, 16, 4)
    s.merge(date(2025, 6, 3), second, first, "V1")
    stocktake(s, first, date(2025, 12, 9), 1)
    s.die("2026-01-17/2026-01-19", female, cause="senescence", circumstance="found_dead")
