"""Small histories told step by step, and faults to plant in the book's answers: each must be found, nothing else.

A canary shows that the comparison sees: a book with that fault would not pass `tests/test_random_books.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from histories import START, day_text

from oracle.census import Faults
from oracle.compare import Difference
from oracle.journal import Open, Row
from oracle.trial import Trial

Steps = list[tuple[Any, ...]]
FISH = "Hippocampus fictus"
RETURN = {"terms": "loan_return", "enclosure": "A2"}


def day(first: int, last: int | None = None) -> str:
    return day_text(START + first, START + (first if last is None else last))


def animal(number: str, when: str, **more: Any) -> dict[str, Any]:
    payload = {"animal": number, "taxon": FISH, "sex": "female", "enclosure": "A1", **more}
    return {"kind": "hatching", "occurred": when, "payload": payload}


def shoal(number: str, when: str, **more: Any) -> dict[str, Any]:
    payload = {"lot": number, "taxon": FISH, "how_many": {"u": 10}, "enclosure": "A1", **more}
    return {"kind": "opening", "occurred": when, "payload": payload}


def act(kind: str, when: str, **payload: Any) -> dict[str, Any]:
    fixed = {"from" if k == "from_" else k: v for k, v in payload.items()}
    return {"kind": kind, "occurred": when, "payload": fixed}


# ("send", entries…) · ("correct", nth event sent, changes, new date or None) · ("strike", nth event sent)
HISTORIES: dict[str, Steps] = {
    "an uncertain birth and a move inside its range": [
        ("send", animal("N-1", day(0, 9))),
        ("send", act("move", day(5), animal="N-1", to="A2")),
    ],
    "an uncertain death": [
        ("send", animal("N-1", day(0))),
        ("send", act("death", day(3, 8), animal="N-1")),
    ],
    "a loan struck out": [
        ("send", animal("N-1", day(0))),
        ("send", act("transfer", day(3), animal="N-1", **{"from": "AA"}, to="PX", terms="loan")),
        ("strike", 1),
    ],
    "a death of two that were three": [
        ("send", shoal("L-1", day(0))),
        ("send", act("death", day(3), lot="L-1", how_many={"u": 2})),
        ("correct", 1, {"how_many": {"u": 3}}, None),
        ("correct", 2, {"how_many": {"u": 1}}, day(4)),
    ],
    "a death on the day of a count": [
        ("send", shoal("L-1", day(0))),
        ("send", act("count", day(3), lot="L-1", how_many={"u": 8})),
        ("send", act("death", day(3), lot="L-1", how_many={"u": 1})),
    ],
    "two events in one batch": [
        ("send", animal("N-1", day(0)), act("move", day(2), animal="N-1", to="A2")),
        ("send", shoal("L-1", day(1)), act("death", day(2), lot="L-1", how_many={"u": 1})),
    ],
    "a mended note under two moves of one day": [
        ("send", animal("N-1", day(0))),
        ("send", act("move", day(3), animal="N-1", to="A2")),
        ("send", act("move", day(3), animal="N-1", to="A3")),
        ("correct", 1, {"note": "Moved by the night keeper."}, None),
    ],
    "a late death before a count": [
        ("send", shoal("L-1", day(0))),
        ("send", act("count", day(9), lot="L-1", how_many={"u": 7})),
        ("send", act("death", day(4), lot="L-1", how_many={"u": 2})),
    ],
    "part of a lot on loan and sold": [
        ("send", shoal("L-1", day(0))),
        ("send", act("transfer", day(3), lot="L-1", how_many={"u": 4}, **{"from": "AA"}, to="PX", terms="loan")),
        ("send", act("title_change", day(5, 7), lot="L-1", how_many={"u": 1}, from_="PX", owner="PX")),
        ("send", act("transfer", day(8), lot="L-1", how_many={"u": 2}, from_="PX", to="AA", **RETURN)),
    ],
}

# --- faults in the oracle's reading: the same difference, seen from the other side ------------------
READING: dict[str, Faults] = {name: Faults(**{name: True}) for name in Faults._fields}


# --- faults in the journal the book hands over -------------------------------------------------------
def own_position(rows: list[Row]) -> list[Row]:
    return [r._replace(known_from=r.because) for r in rows]


def not_taken_back(rows: list[Row]) -> list[Row]:
    return [r for r in rows if not (r.effect < r.because and r.delta * (-1 if r.cell[2].startswith("e-") else 1) > 0)]


def told_twice(rows: list[Row]) -> list[Row]:
    return rows + [r for r in rows if r.reason == "died"]


def one_leg(rows: list[Row]) -> list[Row]:
    return [r for r in rows if r.reason != "transfer_in"]


def first_day(rows: list[Row]) -> list[Row]:
    return [r._replace(counts_on=r.could_from) for r in rows]


def no_doubt(rows: list[Row]) -> list[Row]:
    return [r._replace(could_from=r.counts_on) for r in rows]


def owner_goes_along(rows: list[Row]) -> list[Row]:
    def gone(r: Row) -> bool:
        return r.cell[2].startswith("o-") and r.cell[4].startswith("h-")

    return [r._replace(cell=(*r.cell[:4], r.cell[2], r.cell[5])) if gone(r) else r for r in rows]


JOURNAL: dict[str, Callable[[list[Row]], list[Row]]] = {
    "known_from = own position": own_position,
    "old lines not taken back": not_taken_back,
    "deaths posted twice": told_twice,
    "one leg of a transfer missing": one_leg,
    "counts on the first possible day": first_day,
    "could_from = counts_on": no_doubt,
    "a loan takes the title along": owner_goes_along,
}


def told(steps: Steps, faults: Faults | None, rows: Callable[[list[Row]], list[Row]] | None, *, no_open: bool) -> None:
    """Tell a history with a fault planted; raises Difference (or the like) where it shows."""
    trial = Trial(faults=faults)
    if rows is not None:
        trial.planted = rows
    if no_open:
        trial.planted_open = _none
    sent: list[int] = []
    for step in steps:
        if step[0] == "send":
            outcome = trial.send([{**e, "payload": dict(e["payload"])} for e in step[1:]])
        elif step[0] == "correct":
            outcome = trial.correct(sent[step[1]], step[2], step[3])
        else:
            outcome = trial.strike(sent[step[1]])
        if not outcome.landed:
            raise AssertionError(f"{step} should land: {[f.sentence() for f in outcome.findings]}")
        sent += [seq for seq, _ in outcome.events]
        _look(trial)
    trial.still()


def _none(rows: list[Open]) -> list[Open]:
    return []


def _look(trial: Trial) -> None:
    for known in range(trial.ends[0], trial.known + 1):
        for on in range(START - 1, START + 12):
            trial.compare(on, known)
            trial.ranges(on, known)
    trial.days(trial.known)


def found(
    faults: Faults | None = None,
    rows: Callable[[list[Row]], list[Row]] | None = None,
    *,
    no_open: bool = False,
) -> list[str]:
    """Names of the histories that show the fault."""
    from oracle.census import Impossible

    out = []
    for name, steps in HISTORIES.items():
        try:
            told(steps, faults, rows, no_open=no_open)
        except (Difference, Impossible):
            out.append(name)
    return out
