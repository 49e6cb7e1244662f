"""The pair tanks: White's seahorses that breed in reserve, widowed and paired again, while their young are on show."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from demo_events.diary import Diary
from demo_events.stories import together
from demo_events.stories.common import dwindle, permit, stocktake
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot

WHITEI, AT, NEXT_DOOR, SHOW = "Hippocampus whitei", "V6", "V7", "C11"
BEGUN = date(2023, 1, 5)  # the day the cards of the pair tanks were typed
PAIRS = 6

# who dies when, and of what: number of the animal by sex and order of coming
DEATHS = (
    ("m1", "2023-04-18", "not_determined"),
    ("f3", "2023-08-29", "disease_infectious"),
    ("m4", "2023-11-05/2023-11-06", "not_determined"),
    ("f1", "2024-02-20", "reproduction"),
    ("m2", "2024-05-14", "disease_infectious"),
    ("f5", "2024-09-03", "senescence"),
    ("m6", "2024-11-19", "not_determined"),
    ("m3", "2025-02-25", "senescence"),
    ("f6", "2025-05-06/2025-05-08", "not_determined"),
    ("m5", "2025-08-12", "senescence"),
    ("f2", "2025-11-25", "senescence"),
    ("m7", "2026-03-10", "disease_infectious"),
    ("f4", "2026-07-21", "senescence"),
    ("m8", "2026-10-06", "not_determined"),
)
# who is paired with whom after the first six, when, and how it came about
NEXT = (
    ("f1", "m7", "2023-06-02", "introduced"),
    ("m3", "f7", "2023-10-10", "courtship"),
    ("f4", "m8", "2024-01-16", "introduced"),
    ("m7", "f8", "2024-03-19", "greeting"),
    ("f2", "m9", "2024-06-25", "introduced"),
    ("m5", "f9", "2024-10-01", "courtship"),
    ("f6", "m10", "2025-01-07", "introduced"),
    ("f7", "m11", "2025-03-25", "greeting"),
    ("m10", "f10", "2025-06-24", "courtship"),
    ("f9", "m12", "2025-09-23", "introduced"),
    ("m9", "f11", "2026-01-13", "greeting"),
    ("f8", "m13", "2026-04-28", "courtship"),
    ("m8", "f12", "2026-08-18", "introduced"),
)
# further animals, in the order of their coming: day, sexes; the first two groups stood next door from the beginning
CAME = (("2023-09-12", "mmff"), ("2024-08-13", "mmmf"), ("2025-04-08", "ffm"), ("2025-10-07", "fm"))
# the one that leaves, the mate it leaves, the mate it leaves for, when
LEFT = ("f10", "m10", "m14", date(2026, 5, 26))
# day of birth, dam, sire, born, part that lives
BROODS = (
    ("2023-03-28", "f2", "m2", 74, 0.42),
    ("2023-05-30", "f5", "m5", 61, 0.36),
    ("2023-08-08", "f6", "m6", 83, 0.3),
    ("2023-09-19", "f1", "m7", 38, 0.29),
    ("2024-03-12", "f5", "m5", 88, 0.4),
    ("2024-04-30", "f2", "m2", 96, 0.34),
    ("2024-07-02", "f8", "m7", 57, 0.33),
    ("2024-08-27", "f4", "m8", 66, 0.38),
    ("2025-03-04", "f4", "m8", 92, 0.35),
    ("2025-05-20", "f7", "m11", 49, 0.31),
    ("2025-07-15", "f2", "m9", 101, 0.3),
    ("2025-09-02", "f10", "m10", 44, 0.41),
    ("2026-03-17", "f11", "m9", 58, 0.36),
    ("2026-06-30", "f8", "m13", 71, 0.34),
    ("2026-08-11", "f10", "m14", 63, 0.3),
)


def tell(diary: Diary, place: int) -> None:
    """Six pairs and those who follow them."""
    tanks = PairTanks(Story(diary, place, "pair tanks", "Behind the scenes", "CT SN"))
    tanks.bonds()
    tanks.losses()
    tanks.broods()
    tanks.escape()
    tanks.outside_the_pair()


class PairTanks:
    """The animals by the names the keepers write on the tanks (`f1`, `m1`), and who stands with whom."""

    def __init__(self, s: Story) -> None:
        self.s = s
        self.who: dict[str, Animal] = {}
        self.show: Lot | None = None
        known = {"origin": "bred", "earlier_house": "VBA", "sheet": BEGUN}
        for n in range(1, PAIRS + 1):
            for sex in "fm":
                self.who[f"{sex}{n}"] = s.opening(WHITEI, AT, sex, born="2021" if n < 4 else "2022", **known)
        for sex in "mf":
            self.who[f"{sex}7"] = s.opening(WHITEI, NEXT_DOOR, sex, born="2022", **known)
        for day, sexes in CAME:
            on = date.fromisoformat(day)
            papers = {"permits": [permit(s, on)], "source_code": "C", "purpose_code": "B"}
            for sex in sexes:
                name = f"{sex}{1 + sum(x[0] == sex for x in self.who)}"
                self.who[name] = s.receive(on, "VBA", WHITEI, NEXT_DOOR, sex, "donation", born="2023", **papers)

    def bonds(self) -> None:
        """The six that stood when the book began, and those after them; a week of mornings watched each quarter."""
        s, who = self.s, self.who
        pairs: list[tuple[str, str, date]] = []
        for n in range(1, PAIRS + 1):
            f, m = f"f{n}", f"m{n}"
            more: dict[str, Any] = {"since": "2022"} if n < 3 else {}
            together.pairing(s, date(2023, 1, 10), who[f], who[m], "greeting", enclosure=AT, **more)
            pairs.append((f, m, date(2023, 1, 10)))
        for a, b, day, basis in NEXT:
            on = date.fromisoformat(day)
            newcomer = b if b not in {x for pair in pairs for x in pair[:2]} else a
            s.move(on - timedelta(days=9), who[newcomer], AT, note="To the widowed one.")
            together.courtship(s, on - timedelta(days=4), who[a], [who[b]], "display", outcome="accepted", enclosure=AT)
            together.pairing(s, on, who[a], who[b], basis, enclosure=AT)
            pairs.append((a, b, on))
        one, mate, other, on = LEFT
        s.move(on - timedelta(days=20), who[other], AT)
        note = "Greets the other one; the old mate keeps to his corner."
        together.parting(s, on, who[one], who[mate], "replaced", who[one], replaced_by=who[other], note=note)
        together.pairing(s, on, who[one], who[other], "courtship", enclosure=AT)
        pairs.append((one, other, on))
        for a, b, since in pairs:
            self._watched(a, b, since)

    def _watched(self, a: str, b: str, since: date) -> None:
        """Every thirteen weeks until one of them is gone."""
        until = min([self._gone(a), self._gone(b), self._left(a, b), together.LAST_DAY])
        day = since + timedelta(days=20)
        while day + timedelta(days=8) < until:
            together.greetings(self.s, day, self.who[a], self.who[b], AT)
            day += timedelta(days=91)

    @staticmethod
    def _gone(name: str) -> date:
        found = [day.partition("/")[0] for who, day, _ in DEATHS if who == name]
        return date.fromisoformat(found[0]) if found else date.max

    @staticmethod
    def _left(a: str, b: str) -> date:
        return LEFT[3] if {a, b} == set(LEFT[:2]) else date.max

    def losses(self) -> None:
        """Fourteen deaths in four years."""
        for name, day, cause in DEATHS:
            self.s.die(day, self.who[name], cause=cause, circumstance="found_dead")

    def broods(self) -> None:
        """Eggs over, three weeks in the pouch, young out; what lives goes on show, the parents stay behind."""
        s = self.s
        for day, f, m, born, lived in BROODS:
            on = date.fromisoformat(day)
            dam, sire = self.who[f], self.who[m]
            began = on - timedelta(days=19 + on.day % 4)
            code = f"HW-{on:%Y-%m%d}"
            passed = together.courtship(s, began, dam, [sire], "egg_transfer", outcome="accepted", enclosure=AT)
            passed.marked = True
            together.brood(
                s,
                began,
                code,
                WHITEI,
                "pouch",
                dam=dam,
                sire=sire,
                carrier=sire,
                start_basis="seen",
                enclosure=AT,
                courtship=passed,
            )
            lot: Lot = s.birth(on, WHITEI, "N2", {"u": born}, brood=code, dam=dam, sire=sire)
            still = s.dice.between(0, 5)
            if still:
                together.brood_end(s, on, code, stillborn={"n": still})
            dwindle(s, lot, on + timedelta(days=1), 27, int(born * (1 - lived)), 4)
            stocktake(s, lot, on + timedelta(days=34), s.dice.between(0, 2), source=_sheet(on))
            self._on_show(lot, on + timedelta(days=62))

    def _on_show(self, lot: Lot, on: date) -> None:
        if on >= together.LAST_DAY:
            return
        if self.show is None:
            self.s.move(on, lot, SHOW)
            self.show = lot
            return
        self.s.merge(on, lot, self.show, SHOW)
        if self.show.total() > 60:
            papers = {"permits": [permit(self.s, on)], "source_code": "C", "purpose_code": "Z"}
            self.s.send(on + timedelta(days=6), self.show, "NSP", "donation", {"u": 24}, **papers)

    def escape(self) -> None:
        """Out at ten and back at noon; another is not seen for two days and sits behind the filter."""
        s, who = self.s, self.who
        note = "Over the weir into the sump at ten, found and back at noon."
        s.put("escape", date(2024, 4, 9), {"animal": who["m5"]}, note=note)
        s.put("recovery", date(2024, 4, 9), {"animal": who["m5"], "from": "escaped", "enclosure": AT})
        s.put("missing", date(2025, 6, 3), {"animal": who["f2"]})
        s.put("recovery", date(2025, 6, 5), {"animal": who["f2"], "from": "missing", "enclosure": AT})

    def outside_the_pair(self) -> None:
        """Courtship of animals that have mates of their own."""
        s, who = self.s, self.who
        for on, by, to, act, outcome in (
            (date(2023, 3, 3), "m6", ("f2",), "display", "refused"),
            (date(2023, 7, 18), "m5", ("f1", "f4", "f6"), "display", "refused"),
            (date(2024, 6, 4), "m5", ("f2",), "display", "broken_off"),
            (date(2024, 12, 10), "f4", ("m5",), "display", "refused"),
            (date(2025, 6, 17), "f7", ("m9",), "egg_transfer_tried", "broken_off"),
            (date(2026, 5, 12), "m14", ("f10",), "display", "accepted"),
        ):
            seen = {"days": (2, 7)} if on.year == 2023 else {}
            together.courtship(s, on, who[by], [who[x] for x in to], act, outcome=outcome, enclosure=AT, **seen)


def _sheet(on: date) -> dict[str, str]:
    return {"kind": "count_sheet", "ref": f"rearing N2, brood of {on}"}
