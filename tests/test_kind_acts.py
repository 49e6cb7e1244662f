"""What each kind does to its subjects, as acts of a stored payload."""

from __future__ import annotations

import json

import pytest
from kind_things import E1, E2, H2, IN_HOUSE, MALE, T2, TWO, A, G, H, N, O, T, acts

from ledger.acts import AWAY, HELD, LIVE, LOST, PAPER, SEEN, Act, Back, Enter, Level, Shift, Step
from ledger.kinds import KINDS


@pytest.mark.parametrize(
    ("name", "extra", "account", "reason"),
    [
        ("opening", {}, "brought_forward", "brought_forward"),
        ("hatching", {}, "born", "hatched"),
        ("birth", {}, "born", "born"),
        ("acquisition", {"manner": "found"}, "wild", "acquired"),
    ],
)
def test_arrivals(name, extra, account, reason):
    target = ("e-1", "h-1", "h-1", "collection")
    op = Enter(MALE, (account, "", ""), "t-1", target)
    assert acts(name, {"animal": A, "sex": "male"} | IN_HOUSE | extra) == (Act("a-1", Step.OPEN, op, reason, axes="*"),)
    lot = op._replace(amount=TWO)
    opened = Act("g-1", Step.OPEN, lot, reason, individual=False, axes="*")
    assert acts(name, {"lot": G, "how_many": {"u": 2}} | IN_HOUSE | extra) == (opened,)
    if name != "opening":
        added = Act("g-1", Step.ADD, lot, reason, individual=False)
        assert acts(name, {"into": G, "how_many": {"u": 2}} | IN_HOUSE | extra) == (added,)


def transfer(**payload):
    (act,) = acts("transfer", {("from" if k == "from_" else k): v for k, v in payload.items()})
    assert (act.reason, act.reason_in) == ("transfer_out", "transfer_in")
    return act


LENT = {"place": "o-1", "holder": "o-1"}
OUT = {"from_": H, "to": O}
BETWEEN = {"from_": H, "to": H2, "enclosure": E2, "holder": H2}
INTO = {"from_": O, "to": H, "enclosure": E1, "holder": H}


def test_transfers_out():
    loan = transfer(animal=A, **OUT, terms="loan")
    assert loan.op == Shift(None, HELD, "", "", tuple(LENT.items()))
    assert (loan.step, loan.axes, loan.needs, loan.gone, loan.title) == (Step.LEAVE, "p", HELD, False, ("is", "h-1"))
    sale = transfer(animal=A, **OUT, terms="sale", owner=O)
    assert dict(sale.op.sets) == LENT | {"owner": "o-1"}
    assert (sale.axes, sale.gone, sale.title, sale.rank) == ("*", True, ("is", "h-1"), -1)
    back = transfer(animal=A, **OUT, terms="loan_return")
    assert dict(back.op.sets) == LENT and back.gone and back.title == ("outside",)
    assert transfer(animal=A, **OUT, terms="delivery_after_title_passed").title == ("is", "o-1")
    whole = transfer(lot=G, **OUT, terms="sale", owner=O)
    assert whole.whole and whole.gone and whole.rank == 5 and whole.axes == "*" and not whole.individual
    part = transfer(lot=G, **OUT, terms="sale", owner=O, how_many={"u": 2}, leaving=E1)
    assert part.op[:3] == (TWO, HELD, "e-1")
    assert not part.whole and not part.gone and part.axes == "" and part.rank == -1


def test_transfers_between_members():
    there = {"place": "e-2", "holder": "h-2"}
    loan = transfer(animal=A, **BETWEEN, terms="loan")
    assert (loan.step, loan.axes, loan.title, dict(loan.op.sets)) == (Step.CHANGE, "p", ("is", "h-1"), there)
    sale = transfer(animal=A, **BETWEEN, terms="exchange", owner=H2)
    assert (sale.axes, dict(sale.op.sets)) == ("po", there | {"owner": "h-2"})
    assert transfer(animal=A, **BETWEEN, terms="loan_return").title == ("is_not", "h-1")
    held = transfer(animal=A, **BETWEEN, terms="held_for_another", standing="held_for_another")
    assert held.axes == "pg" and dict(held.op.sets)["standing"] == "held_for_another"
    assert transfer(lot=G, **BETWEEN, terms="loan", how_many={"u": 2}, leaving=E1).axes == ""


def test_transfers_in():
    new = {"taxon": T, "sex": "male", "standing": "collection"}
    bought = transfer(animal=A, **INTO, **new, terms="sale", owner=H)
    assert bought.op == Enter(MALE, ("o-1", "o-1", "o-1"), "t-1", ("e-1", "h-1", "h-1", "collection"))
    assert (bought.step, bought.axes) == (Step.OPEN, "*")
    borrowed = transfer(animal=A, **INTO, **new, terms="loan", owner=H2)
    assert borrowed.op.source == ("o-1", "o-1", "h-2")
    added = transfer(lot=G, **INTO, taxon=T, terms="sale", owner=H, how_many={"u": 2}, addition=True)
    assert (added.step, added.axes, added.individual, added.op.amount) == (Step.ADD, "", False, TWO)
    back = transfer(animal=A, **INTO, terms="loan_return")
    assert back.op == Back(None, AWAY, "o-1", "e-1", "h-1", "", "")
    assert (back.step, back.axes, back.needs, back.title) == (Step.COME, "p", AWAY, ("is_not", "o-1"))
    again = transfer(animal=A, **INTO, terms="sale", owner=H, standing="collection")
    assert again.op == Back(None, AWAY, "o-1", "e-1", "h-1", "h-1", "collection")
    assert (again.axes, again.title) == ("*", ("is", "o-1"))
    assert transfer(animal=A, **INTO, terms="delivery_after_title_passed").title == ("is", "h-1")
    whole = transfer(lot=G, **INTO, terms="loan_return")
    assert whole.whole and whole.op.amount is None and whole.rank == 0
    part = transfer(lot=G, **INTO, terms="loan_return", how_many={"u": 2})
    assert part.op.amount == TWO and part.axes == "" and not part.whole


def test_a_transfer_outside():
    on = transfer(animal=A, from_=O, to={"as": "y", "id": "o-2"}, terms="loan")
    assert on.op == Shift(None, AWAY, "o-1", "", (("place", "o-2"), ("holder", "o-2")))
    assert (on.step, on.axes, on.needs, on.title) == (Step.CHANGE, "p", AWAY, ("is_not", "o-1"))


def test_title():
    (one,) = acts("title_change", {"animal": A, "owner": O})
    assert one.op == Shift(None, LIVE, "", "", (("owner", "o-1"),))
    assert (one.reason, one.reason_in, one.axes, one.needs) == ("title_out", "title_in", "o", PAPER)
    (whole,) = acts("title_change", {"lot": G, "owner": O})
    (part,) = acts("title_change", {"lot": G, "owner": O, "how_many": {"u": 2}, "from": E1, "owned_by": H})
    assert whole.whole and whole.axes == "o"
    assert part.op[:4] == (TWO, LIVE, "e-1", "h-1") and part.axes == "" and not part.whole


def test_deaths():
    dead = (("place", "dead"), ("holder", ""), ("owner", ""))
    (one,) = acts("death", {"animal": A})
    assert one == Act("a-1", Step.END, Shift(None, LIVE, "", "", dead), "died", axes="*")
    found, end = acts("death", {"animal": A, "sex_found": "f"})
    assert end == one
    assert found.op == Shift(None, LIVE, "", "", (("sex", "female"),))
    assert (found.reason, found.axes, found.finding, found.only_from) == ("sexed", "s", True, ("unknown", "female"))
    (lot,) = acts("death", {"lot": G, "how_many": {"u": 2}, "from": E1})
    assert lot == Act("g-1", Step.LEAVE, Shift(TWO, SEEN, "e-1", "", dead), "died", individual=False)
    (lost,) = acts("death", {"lot": G, "how_many": {"u": 2}, "from": "missing"})
    assert lost.op[:3] == (TWO, LOST, "missing")
    sexing, death = acts("death", {"lot": G, "how_many": {"u": 2, "f": 1}, "from": E1, "sex_found": "f"})
    assert sexing.op == Shift(TWO, SEEN, "e-1", "", (("sex", "female"),))
    assert death.op.amount == (("female", 3),)


def test_losses_and_recovery():
    (gone,) = acts("release", {"animal": A})
    assert (gone.step, gone.axes, gone.needs, gone.gone) == (Step.LEAVE, "*", HELD, True)
    assert dict(gone.op.sets) == {"place": "released", "holder": "", "owner": ""}
    for name, place in (("escape", "escaped"), ("missing", "missing")):
        (one,) = acts(name, {"animal": A})
        assert (one.step, one.axes, one.needs, one.gone, one.reason) == (Step.LEAVE, "p", HELD, False, place)
        assert dict(one.op.sets) == {"place": place, "holder": ""}
        (part,) = acts(name, {"lot": G, "how_many": {"u": 2}, "from": E1})
        assert part.op[:3] == (TWO, HELD, "e-1") and part.axes == ""
    (back,) = acts("recovery", {"animal": A, "enclosure": E1, "holder": H})
    assert back.op == Back(None, LOST, "", "e-1", "h-1", "", "")
    assert (back.step, back.axes, back.needs) == (Step.COME, "p", LOST)
    (some,) = acts("recovery", {"lot": G, "enclosure": E1, "holder": H, "how_many": {"u": 2}, "from": "escaped"})
    assert some.op[:3] == (TWO, LOST, "escaped") and some.axes == ""


def test_moves():
    (one,) = acts("move", {"animal": A, "to": E2})
    assert one == Act(
        "a-1", Step.CHANGE, Shift(None, HELD, "", "", (("place", "e-2"),)), "re_housed", axes="p", needs=HELD
    )
    (whole,) = acts("move", {"lot": G, "to": E2})
    (part,) = acts("move", {"lot": G, "to": E2, "from": E1, "how_many": {"u": 2}})
    assert whole.whole and whole.axes == "p" and part.op[:3] == (TWO, HELD, "e-1") and part.axes == ""


PASSED = {"from": E1, "to": E2, "taxon": T, "holder": H, "owner": O, "standing": "study"}
INSIDE = ("e-2", "h-1", "o-1", "study")


@pytest.mark.parametrize(
    ("name", "payload", "source", "target", "amount"),
    [
        ("split", {"lot": G, "new": N, "how_many": {"u": 2}}, Step.LEAVE, Step.OPEN, TWO),
        ("merge", {"lot": G, "into": N, "how_many": {"u": 2}}, Step.LEAVE, Step.ADD, TWO),
        ("draw", {"lot": G, "new": A, "sex": "male"}, Step.LEAVE, Step.OPEN, MALE),
        ("join", {"animal": A, "into": N, "sex": "male"}, Step.END, Step.ADD, MALE),
    ],
)
def test_pairs_meet_in_passed(name, payload, source, target, amount):
    out, into = acts(name, payload | PASSED)
    assert (out.step, into.step) == (source, target)
    assert dict(out.op.sets) == {"place": "passed", "holder": ""}
    assert into.op == Enter(amount, ("passed", "", "o-1"), "t-1", INSIDE)
    assert (out.reason, into.reason, out.needs) == ("passed_out", "passed_in", HELD)
    assert out.individual == (name == "join") and into.individual == (name == "draw")
    assert out.op[:4] == ((None, HELD, "", "") if name == "join" else (amount, HELD, "e-1", "o-1"))


def test_a_count():
    (one,) = acts("count", {"lot": G, "how_many": {"m": 1, "u": 2}, "enclosure": E1})
    op = Level((("male", 1), ("unknown", 2)), "e-1", "")
    assert one == Act("g-1", Step.COUNT, op, "count_unaccounted", individual=False, needs=HELD)


def test_findings_about_sex_and_taxon():
    (one,) = acts("sexing", {"animal": A, "to": "f"})
    assert (one.finding, one.only_from, one.since, one.axes) == (True, ("unknown",), "", "s")
    (since,) = acts("sexing", {"animal": A, "to": "f", "holds_since": "birth"})
    assert (since.since, since.only_from) == ("origin", ())
    assert acts("sexing", {"animal": A, "to": "f", "holds_since": "2024-02-03"})[0].since == "2024-02-03"
    (lot,) = acts("sexing", {"lot": G, "to": "f", "how_many": {"u": 2}, "from": E1})
    assert lot.op == Shift(TWO, SEEN, "e-1", "", (("sex", "female"),)) and lot.axes == ""
    (change,) = acts("sex_change", {"animal": A, "to": "f", "was": "m", "stage": "completed"})
    assert (change.reason, change.only_from, change.axes, change.finding) == ("sex_changed", ("male",), "s", False)
    for stage in ("first_sign", "given_up"):
        assert acts("sex_change", {"animal": A, "to": "f", "stage": stage}) == ()
    (other,) = acts("redetermination", {"lot": G, "taxon": T2, "holds_since": "birth"})
    assert other.op == Shift(None, LIVE, "", "", (("taxon", "t-2"),))
    assert (other.whole, other.axes, other.finding, other.since) == (True, "t", True, "origin")


QUIET = {"book", "person", "house", "party", "enclosure", "enclosure_changed", "enclosure_closed", "taxon"}
QUIET |= {"marking", "unmarking", "void", "note"}


@pytest.mark.parametrize("name", sorted(QUIET))
def test_kinds_that_move_nobody(name):
    assert acts(name, json.loads(KINDS[name].story()["Example"])["payload"]) == ()


def test_acts_never_fail_on_a_payload_that_nobody_filled_in():
    for name in set(KINDS) - QUIET:
        assert isinstance(acts(name, json.loads(KINDS[name].story()["Example"])["payload"]), tuple)
