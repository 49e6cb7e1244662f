"""The Tern Aviary, a colony without bands kept as a lot: chicks into it, one missing, a torn net, six sold."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary
from demo_events.stories.common import stocktake, trickle
from demo_events.storyteller import Story
from demo_events.subjects import Lot

TERN = "Larosterna inca"


def tell(diary: Diary, place: int) -> None:
    """Inca terns."""
    s = Story(diary, place, "terns", "Bird Cliff", "PD AE")
    colony: Lot = s.opening(TERN, "B3", {"u": 19}, origin="bred", arrived="2019")
    _chicks(s, colony, date(2023, 6, 4), 4, 1)
    _missing(s, colony)
    stocktake(s, colony, date(2023, 12, 14))
    _chicks(s, colony, date(2024, 5, 27), 5, 2)
    _sold(s, colony)
    stocktake(s, colony, date(2024, 12, 12))
    _torn_net(s, colony)
    _chicks(s, colony, date(2025, 6, 8), 3, 0)
    trickle(s, colony, date(2025, 8, 1), date(2025, 11, 20), 2)
    stocktake(s, colony, date(2025, 12, 11), 1)
    _chicks(s, colony, date(2026, 6, 1), 6, 2)
    trickle(s, colony, date(2026, 8, 3), date(2026, 10, 30), 1)


def _chicks(s: Story, colony: Lot, first: date, n: int, lost: int) -> None:
    """Chicks seen at the ledges over two weeks, entered as they are found; some fall."""
    days = s.dice.days(first, date(first.year, 6, 22), n)
    for day in days:
        s.young_into("hatching", day, colony, "B3", {"u": 1}, note="Seen under a parent on the ledge; not handled.")
    for day in s.dice.days(date(first.year, 6, 24), date(first.year, 7, 6), lost):
        s.die(day, colony, {"u": 1}, cause="trauma", circumstance="found_dead", note="Fallen chick, this season's.")


def _missing(s: Story, colony: Lot) -> None:
    """One fewer at the evening count; eight days later it sits in the roof."""
    s.lose("missing", date(2023, 10, 20), colony, {"u": 1}, note="One fewer at the evening count after the gale.")
    s.recover(date(2023, 10, 28), colony, "missing", "B3", {"u": 1}, note="Between net and roof, thin but well.")


def _sold(s: Story, colony: Lot) -> None:
    """Six get a number of their own and go to Skerrin."""
    six = s.split(date(2024, 9, 10), colony, {"u": 6}, to="Q4", note="Set apart for Skerrin.")
    s.pass_on(date(2024, 10, 1), six, "SK", "sale", "K6")
    s.move(date(2024, 11, 5), six, "K7", house="SK", seen="TB")
    s.die(date(2025, 3, 18), six, {"u": 1}, cause="aggression", circumstance="found_dead", house="SK", seen="TB")
    stocktake(
        s,
        six,
        date(2025, 12, 16),
        house="SK",
        seen="TB",
        source={"kind": "stock_take", "ref": "Skerrin, December 2025"},
    )


def _torn_net(s: Story, colony: Lot) -> None:
    """Two out through the net; one is back the next day, the other is found dead on the cliff a week later."""
    s.lose("escape", date(2025, 1, 24), colony, {"u": 2}, note="Net torn by the storm, a hand wide.")
    s.recover(date(2025, 1, 25), colony, "escaped", "B3", {"u": 1})
    s.note(date(2025, 1, 25), "safety", "Net sewn; seams of the north side to be looked at every morning.", "B3")
    s.die(
        date(2025, 2, 1),
        colony,
        {"u": 1},
        "escaped",
        cause="predation",
        circumstance="found_dead",
        note="On the cliff, by a falcon.",
    )
