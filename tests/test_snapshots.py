"""A telling that is gone on with is the tale told from the beginning: random histories, possible and impossible."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date

import pytest
from oracle.machine import EXAMPLES

from ledger import kinds
from ledger.acts import Entry
from ledger.fold import tell
from ledger.posting import difference, row_difference
from ledger.snapshots import EVERY, changes, gone_on, telling

DAY = date(2020, 1, 1).toordinal()
ONE, LOT, OTHER = ({"as": x, "id": x} for x in ("a-0000000001", "g-0000000001", "g-0000000002"))
HOUSE, PARTY = {"as": "H", "id": "h-0000000001"}, {"as": "P", "id": "o-0000000001"}
TANKS = [{"as": f"E{n}", "id": f"e-000000000{n}"} for n in (1, 2, 3)]
TAXA = [{"as": t, "id": f"t-000000000{t}"} for t in "12"]
ARRIVES = {"holder": HOUSE, "owner": HOUSE, "standing": "collection"}


def animal_act(pick: random.Random) -> tuple[str, dict]:
    """A kind and its payload, about one animal."""
    sale = {"from": HOUSE, "to": PARTY, "terms": "sale", "owner": PARTY}
    loan = {"from": HOUSE, "to": PARTY, "terms": "loan", "owner": HOUSE}
    back = {"from": PARTY, "to": HOUSE, "terms": "loan_return", "enclosure": pick.choice(TANKS), "owner": HOUSE}
    return pick.choice(
        (
            ("hatching", {"taxon": TAXA[0], "sex": pick.choice(("unknown", "male")), "enclosure": TANKS[0], **ARRIVES}),
            *[("move", {"to": pick.choice(TANKS)})] * 4,
            ("sexing", {"to": pick.choice(("male", "female"))}),
            ("sexing", {"to": "male", "holds_since": "birth" if pick.random() < 0.1 else "2020-01-04"}),
            ("redetermination", {"taxon": pick.choice(TAXA)}),
            ("escape", {}),
            ("recovery", {"enclosure": TANKS[1], "holder": HOUSE}),
            ("death", {}),
            ("death", {"sex_found": "female"}),
            ("transfer", sale),
            ("transfer", loan),
            ("transfer", back),
        )
    )


def lot_act(pick: random.Random) -> tuple[str, dict]:
    """A kind and its payload, about one lot."""
    tank, few = pick.choice(TANKS), {pick.choice("mfun"): pick.randint(1, 3)}
    some = {pick.choice("mfu"): pick.randint(1, 30), "u": pick.randint(0, 9) + 1}
    new = {"taxon": TAXA[0], "enclosure": TANKS[0], **ARRIVES}
    counted = {"enclosure": tank, "how_many": some}
    return pick.choice(
        (
            ("hatching", {**new, "how_many": some}),
            ("hatching", {**new, "counted": False}) if pick.random() < 0.1 else ("move", {"to": tank}),
            ("hatching", {**new, "at_least": {"u": 3}, "at_most": {"u": 9}, "taken_as": {"u": 5}})
            if pick.random() < 0.1
            else ("move", {"to": tank, "from": TANKS[0], "how_many": few}),
            *[("death", {"how_many": few, "from": tank})] * 6,
            ("count", counted),
            ("count", {**counted, "before": True}),
            ("count", {**counted, "stands_for": "2020-01-03"}),
        )
    )


def entries(pick: random.Random, root: int, lot: bool, late: float) -> list[Entry]:
    """What an event of one subject does, near the day of its root, or some days before."""
    kind, payload = lot_act(pick) if lot else animal_act(pick)
    if root == 1 and pick.random() < 0.9:
        number = {"how_many": {"m": 40, "u": 60}} if lot else {"sex": "unknown"}
        kind, payload = "hatching", {"taxon": TAXA[0], "enclosure": TANKS[0], **number, **ARRIVES}
    payload = {**payload, "lot" if lot else "animal": LOT if lot else ONE}
    try:
        acts = kinds.KINDS[kind].acts(kinds.KINDS[kind].read(payload, 1))
    except ValueError:
        return []
    first = DAY + root - (pick.randint(1, 12) if pick.random() < late else 0)
    last = first + (pick.choice((0, 0, 0, 0, 1, 5)) if not kinds.KINDS[kind].ONE_DAY else 0)
    out = []
    for act in acts:
        since = date.fromisoformat(act.since).toordinal() if act.since not in ("", "origin") else 0
        out.append(Entry(act, since or first, since or last, root))
    return out


def same(told, standing: dict[int, list[Entry]]) -> None:
    """The telling is the tale of all that stands."""
    tale = tell([e for root in sorted(standing) for e in standing[root]])
    assert Counter(told.lines) == Counter(tale.lines)
    assert Counter(told.open) == Counter(tale.open)
    assert Counter(told.flags) == Counter(tale.flags)
    assert told.state.key() == tale.state.key()
    assert (told.state.frames, told.state.last, told.state.went) == (
        tale.state.frames,
        tale.state.last,
        tale.state.went,
    )


@pytest.mark.parametrize("lot", [False, True], ids=["animal", "lot"])
@pytest.mark.parametrize("late", [0.0, 0.05, 0.4])
def test_gone_on_is_told_anew(lot: bool, late: float) -> None:
    kept = 0
    for seed in range(max(int(40 * EXAMPLES), 8)):
        pick = random.Random(f"{seed} {lot} {late}")
        standing: dict[int, list[Entry]] = {}
        told = telling([])
        steps = [told]
        for root in range(1, pick.randint(3, 90)):
            mended = pick.choice(list(standing)) if standing and pick.random() < late / 2 else root
            added = [] if mended != root and pick.random() < 0.5 else entries(pick, mended, lot, late)
            standing[mended] = added
            told = gone_on(told, mended, added)
            kept += told.kept[0] > 0
            if pick.random() < 0.4:
                same(told, standing)
            steps.append(told)
            if pick.random() < 0.2:
                lines, rows = changes(steps)
                assert lines == difference(told.lines, steps[0].lines)
                assert rows == row_difference(told.open, steps[0].open)
                steps = [told]
    assert kept > 30, "it is always told anew: nothing is tried"


def test_a_long_history_is_resumed_near_its_end() -> None:
    new = {"lot": LOT, "taxon": TAXA[0], "enclosure": TANKS[0], "how_many": {"u": 900}, **ARRIVES}
    told = telling([Entry(a, DAY, DAY, 1) for a in kinds.KINDS["hatching"].acts(kinds.KINDS["hatching"].read(new, 1))])
    dies = kinds.KINDS["death"].read({"lot": LOT, "how_many": {"u": 1}, "from": TANKS[0]}, 1)
    (act,) = kinds.KINDS["death"].acts(dies)
    for root in range(2, 300):
        told = gone_on(told, root, [Entry(act, DAY + root, DAY + root, root)])
        assert told.kept[0] >= len(told.lines) - 2
    late = gone_on(told, 400, [Entry(act, DAY + 290, DAY + 290, 400)])
    assert late.kept[0] >= len(late.lines) - 2 * (EVERY + 12)
