"""Seal Cove: sea lions with half-siblings, a sire never held and one on loan; otters; seals out of the surf."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from demo_events.diary import Diary
from demo_events.stories.common import chip, clear, permit
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Words

LION, SEAL, OTTER = "Zalophus californianus", "Halichoerus grypus", "Aonyx cinereus"


def tell(diary: Diary, place: int) -> None:
    """Three stories of one section."""
    Line(Story(diary, place, "sea lions", "Seal Cove", "LJ AE")).tell()
    _otters(Story(diary, place + 1, "otters", "Seal Cove", "LJ"))
    _seals(Story(diary, place + 2, "stranded seals", "Seal Cove", "LJ HK"))


class Line:
    """The pedigree, as the book tells it."""

    def __init__(self, s: Story) -> None:
        self.s = s
        self.bull: Animal = s.opening(
            LION, "S3", "m", born="2010-06-18", origin="bred", earlier_house="Ostrel", name="Bosun"
        )
        self.ruth: Animal = s.opening(
            LION, "S1", "f", born="2009-06", origin="bred", earlier_house="Ostrel", name="Marl"
        )
        self.sal: Animal = s.opening(
            LION, "S1", "f", born="2012-06-22", origin="bred", earlier_house="Nordhavel", name="Saltmeadow"
        )
        self.ren: Animal = s.opening(
            LION, "S1", "f", born="2013-06-09", origin="bred", earlier_house="Nordhavel", name="Wrenna"
        )
        pedigree = {"origin": "bred"}
        self.tern: Animal = s.opening(
            LION, "S1", "f", born="2018-06-25", dam=self.sal, sire=self.bull, name="Ternlet", **pedigree
        )
        there = self.stranger("NS-L-0088", "NSP", "2008-06", date(2023, 1, 2), sheet=date(2023, 1, 2))
        outside = "Sired at Nordhavel by a bull this house never held, while her dam was there in 2018."
        self.pike: Animal = s.opening(
            LION,
            "S3",
            "m",
            born="2019-06-30",
            dam=self.ren,
            sire=there,
            name="Pikestaff",
            note=outside,
            **pedigree,
        )
        for one in (self.bull, self.ruth, self.sal, self.ren, self.tern, self.pike):
            s.mark(date(2023, 1, 12), one, "transponder", chip(s), place="neck", side="left")

    def stranger(self, number: str, party: str, born: str, on: date, **more: Any) -> Animal:
        """A bull that no house of the book has held, by its number where it lives."""
        bull = Animal(LION, "MS", on, {"MS": number}, sex="m", place=party)
        self.s.put(
            "outside_animal",
            on,
            {"animal": bull, "party": party, "taxon": LION, "sex": "male", "born": born},
            unseen=True,
            **more,
        )
        return bull

    def tell(self) -> None:
        """Four summers."""
        self.with_bosun()
        self.away()
        self.with_the_loan()
        self.ends()

    def pup(self, on: date, dam: Animal, sire: Animal | None, sex: str, name: str, **more: str) -> Animal:
        """A pup: born in the Pup Pool, chipped at the first handling, weaned into the Main Pool next spring."""
        s = self.s
        s.move(on - timedelta(days=s.dice.between(10, 16)), dam, "S2", note="Apart to pup.")
        known = {"sire": sire} if sire else {}
        pup: Animal = s.birth(on, LION, "S2", sex, dam=dam, **known, name=name, **more)
        return pup

    def reared(self, pup: Animal, dam: Animal, born: date) -> None:
        """Dam and pup back to the others after the summer, the pup with its chip."""
        s = self.s
        s.mark(born + timedelta(days=s.dice.between(40, 55)), pup, "transponder", chip(s), place="neck", side="left")
        back = born + timedelta(days=s.dice.between(95, 120))
        s.move(back, dam, "S1")
        s.move(back + timedelta(days=s.dice.between(120, 150)), pup, "S1")

    def with_bosun(self) -> None:
        """2023 and 2024: three pups of one bull by three cows, one of which dies on its third day."""
        s = self.s
        s.move(date(2023, 5, 2), self.bull, "S1", note="Let in with the cows.")
        self.brisk = self.pup(date(2023, 6, 14), self.sal, self.bull, "f", "Brisket")
        self.reared(self.brisk, self.sal, date(2023, 6, 14))
        self.thrift = self.pup(date(2023, 6, 27), self.ren, self.bull, "m", "Thriftwood")
        self.reared(self.thrift, self.ren, date(2023, 6, 27))
        s.note(date(2023, 7, 12), "behaviour", Words("{0} seen mating with {1}.", self.bull, self.sal), self.bull)
        lost = self.pup(date(2024, 6, 11), self.ruth, self.bull, "m", "Jib")
        s.die(date(2024, 6, 14), lost, cause="neonatal", circumstance="died_under_care", note="Never fed well; 6.1 kg.")
        s.move(date(2024, 6, 25), self.ruth, "S1")

    def away(self) -> None:
        """Two breeding loans out; she comes home carrying the pup of a bull that was never here."""
        s = self.s
        s.send(
            date(2024, 5, 7), self.sal, "OZG", "breeding_loan", permits=[permit(s, date(2024, 4, 22))], purpose_code="B"
        )
        s.send(
            date(2024, 9, 10),
            self.bull,
            "NSP",
            "breeding_loan",
            permits=[permit(s, date(2024, 8, 27))],
            purpose_code="B",
        )
        s.come_back(date(2025, 4, 8), self.sal, "OZG", "breeding_loan_return", "Q5")
        clear(s, self.sal, date(2025, 4, 8), "S1")
        note = "Carried from Ostrel; sired by a bull there that this house never held."
        there = self.stranger("OZ-L-0198", "OZG", "2011-06", date(2025, 4, 15))
        s.put(
            "brood",
            date(2025, 4, 15),
            {"brood": "ZC-2025-1", "taxon": LION, "dam": self.sal, "sire": there, "carrier": self.sal, "mode": "womb"},
            seen="HK",
            note="Seen on the scan at the end of her first week back.",
        )
        self.cliff = self.pup(date(2025, 6, 19), self.sal, there, "f", "Clifftop", note=note, brood="ZC-2025-1")
        self.reared(self.cliff, self.sal, date(2025, 6, 19))

    def with_the_loan(self) -> None:
        """A bull of Ostrel's stands in for a season and a half: the pups of 2026 are half-siblings of all before."""
        s = self.s
        guest: Animal = s.receive(
            date(2025, 4, 22),
            "OZG",
            LION,
            "Q5",
            "m",
            "breeding_loan",
            born="2014-06",
            origin="bred",
            name="Keel",
            number_there="OZ-L-0231",
        )
        clear(s, guest, date(2025, 4, 22), "S1")
        s.note(
            date(2025, 7, 8),
            "behaviour",
            Words("{0} holds the north ledge; {1} and {2} with him.", guest, self.ren, self.tern),
            guest,
        )
        agreed = {"owner": "MS", "agreement": "BL-2025-01", "note": "By the agreement the first two pups are ours."}
        one = self.pup(date(2026, 6, 9), self.ren, guest, "m", "Longshore", **agreed)
        two = self.pup(date(2026, 6, 23), self.tern, guest, "f", "Marram", **agreed)
        for pup in (one, two):  # still with their dams in the Pup Pool when the book ends
            s.mark(pup.since + timedelta(days=46), pup, "transponder", chip(s), place="neck", side="left")
        s.send(date(2026, 9, 29), guest, "OZG", "breeding_loan_return")

    def ends(self) -> None:
        """The young male sold, his half-brother lent, the old cow put to sleep, the bull dead away from home."""
        s = self.s
        s.move(date(2024, 11, 5), self.thrift, "S3")
        s.send(date(2025, 10, 21), self.thrift, "CBC", "sale", permits=[permit(s, date(2025, 10, 2))], purpose_code="Z")
        s.die(
            date(2025, 11, 28),
            self.bull,
            late=6,
            unseen=True,
            source={"kind": "letter", "ref": "Nordhavel, letter of 4 December"},
            cause="neoplasia",
            circumstance="died_under_care",
            note="Died at Nordhavel; their report is on file.",
        )
        s.die(
            date(2026, 2, 17),
            self.ruth,
            cause="euthanasia",
            circumstance="euthanised",
            euthanasia_ground="Kidney failure, no longer eating.",
            decided_by="HK",
        )


def _otters(s: Story) -> None:
    """A pair and two litters born in the holt."""
    dog: Animal = s.opening(OTTER, "O1", "m", born="2016", origin="bred", earlier_house="Ostrel", name="Rushes")
    bitch: Animal = s.opening(
        OTTER, "O1", "f", born="2018-03", origin="bred", earlier_house="Corrigan Bay", name="Sallow"
    )
    first = [
        s.birth(date(2024, 3, 17), OTTER, "O2", "u", dam=bitch, sire=dog, batch="litter of 17 March 2024")
        for _ in range(4)
    ]
    s.die(date(2024, 3, 21), first[3], cause="neonatal", circumstance="found_dead")
    for cub, sex in zip(first[:3], "mff", strict=True):
        s.sexing(date(2024, 6, 4), cub, sex, basis="examination")
        s.mark(date(2024, 6, 4), cub, "transponder", chip(s), place="neck", side="left")
        s.move(date(2024, 6, 18), cub, "O1")
    for cub in first[:2]:
        s.send(
            date(2025, 9, 16),
            cub,
            "OZG",
            "exchange",
            permits=[permit(s, date(2025, 9, 1))],
            source_code="C",
            purpose_code="Z",
        )
    s.die(
        "2025-12-24/2025-12-25",
        dog,
        cause="senescence",
        circumstance="found_dead",
        note="In the holt; the others lay against him.",
    )
    mate: Animal = s.receive(
        date(2026, 3, 10),
        "CBC",
        OTTER,
        "Q5",
        "m",
        "donation",
        born="2022",
        origin="bred",
        permits=["CBC-2026-0071"],
        source_code="C",
    )
    clear(s, mate, date(2026, 3, 10), "O1")
    second = [
        s.birth(date(2026, 8, 23), OTTER, "O2", "u", dam=bitch, sire=mate, batch="litter of 23 August 2026")
        for _ in range(3)
    ]
    for cub in second:
        s.mark(date(2026, 11, 3), cub, "transponder", chip(s), place="neck", side="left")


def _seals(s: Story) -> None:
    """Grey seal pups of three winters: the authority's animals, nursed and let go, or not."""
    for found, sex, where, days, dies in (
        (date(2023, 12, 9), "m", "Long Strand", 96, ""),
        (date(2024, 1, 14), "f", "Harbour slip", 110, ""),
        (date(2024, 12, 2), "f", "Long Strand", 101, ""),
        (date(2025, 1, 20), "m", "Gull Point", 0, "disease_infectious"),
        (date(2025, 2, 3), "u", "Ferry steps", 118, ""),
        (date(2025, 12, 15), "m", "Long Strand", 0, "nutrition"),
        (date(2026, 1, 30), "f", "Harbour slip", 105, ""),
    ):
        born = f"{found - timedelta(days=30)}/{found - timedelta(days=9)}"
        pup: Animal = s.acquire(
            found,
            SEAL,
            "S4",
            sex,
            "stranding",
            where=f"{where}, Marrow Sound",
            owner="LCNA",
            permit=f"LCNA-{found.year}-{s.dice.between(10, 99):04}",
            born=born,
        )
        s.mark(
            found + timedelta(days=2),
            pup,
            "tag",
            f"PSR {s.dice.between(2100, 2990)}",
            colour="green",
            side="left",
            place="hind flipper",
        )
        if dies:
            s.die(found + timedelta(days=s.dice.between(2, 9)), pup, cause=dies, circumstance="died_under_care")
            continue
        if sex == "u":
            s.sexing(found + timedelta(days=3), pup, "m", basis="examination")
        s.note(found + timedelta(days=35), "diet", Words("{0} takes whole herring; 1.5 kg more in the week.", pup), pup)
        s.lose(
            "release",
            found + timedelta(days=days),
            pup,
            site="Outer Skerries, north landing",
            permit=f"LCNA-{found.year}-{s.dice.between(100, 400):04}",
        )
