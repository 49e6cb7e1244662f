"""What the book fills in, so that a person need not type it; and where a person must say."""

from __future__ import annotations

import pytest
from kind_things import E1, A, G, H, N, O, Paper, T, cell, filled

from ledger.kinds.base import CannotFill


def test_fill_an_arrival():
    got = filled("hatching", {"animal": A, "taxon": T, "enclosure": E1}, Paper())
    assert (got.holder.id, got.owner.id, got.standing, got.sex) == ("h-1", "h-1", "collection", "unknown")
    dam = {"as": "x", "id": "a-9"}
    payload = {"animal": A, "taxon": T, "enclosure": E1, "dam": dam}
    assert filled("birth", payload, Paper({"a-9": {cell(): 1}})).owner.id == "h-1"
    with pytest.raises(CannotFill, match="owner"):
        filled("birth", payload, Paper({"a-9": {cell(owner="o-1"): 1}}))
    with pytest.raises(CannotFill, match="owner"):
        filled("hatching", {"into": G, "how_many": 2, "enclosure": E1}, Paper({"g-1": {cell(owner="o-1"): 5}}))


def test_fill_from_where_part_of_a_lot_goes():
    lot = {"lot": G, "how_many": 2}
    assert filled("death", lot, Paper({"g-1": {cell(): 5, cell("o-1", holder="o-1"): 5}})).from_.id == "e-1"
    assert filled("death", lot, Paper({"g-1": {cell("o-1", holder="o-1"): 5}})).from_.id == "o-1"
    with pytest.raises(CannotFill) as which:
        filled("escape", lot, Paper({"g-1": {cell(): 5, cell("e-2"): 5}}))
    assert "E-1 and E-2" in which.value.found
    assert filled("death", lot, Paper()).from_ is None  # the fold will say that nobody is there
    assert (
        filled("recovery", lot | {"enclosure": E1}, Paper({"g-1": {cell("escaped", holder=""): 5}})).from_ == "escaped"
    )


def test_fill_passing():
    look = Paper({"g-1": {cell(): 3, cell(sex="male"): 1}, "g-2": {cell("e-2"): 4}})
    got = filled("merge", {"lot": G, "into": N}, look)
    assert got.how_many.amount() == (("male", 1), ("unknown", 3))
    assert (got.from_.id, got.to.id, got.owner.id, got.taxon.id) == ("e-1", "e-2", "h-1", "t-1")
    with pytest.raises(CannotFill) as none:
        filled("split", {"lot": G, "new": N, "how_many": 1}, Paper())
    assert none.value.code == "not-there"
    with pytest.raises(CannotFill, match="owner"):
        filled("split", {"lot": G, "new": N, "how_many": 1}, Paper({"g-1": {cell(): 3, cell(owner="o-1"): 1}}))
    chosen = filled(
        "split", {"lot": G, "new": N, "how_many": 1, "owner": O}, Paper({"g-1": {cell(owner="o-1"): 1, cell(): 3}})
    )
    assert chosen.owner.id == "o-1"


def test_fill_a_transfer():
    into = {"from": O, "to": H, "terms": "held_for_another", "enclosure": E1}
    got = filled("transfer", {"animal": A, "taxon": T} | into, Paper(new=("a-1",)))
    assert (got.owner.id, got.standing, got.holder.id, got.sex) == ("o-1", "held_for_another", "h-1", "unknown")
    out = {"from": H, "to": O, "terms": "loan", "lot": G, "how_many": 2}
    look = Paper({"g-1": {cell(): 5, cell(owner="o-2"): 5}})
    lent = filled("transfer", out, look)
    assert (lent.leaving.id, lent.owned_by.id, lent.owner) == ("e-1", "h-1", None)
    with pytest.raises(CannotFill, match="how_many"):
        filled(
            "transfer",
            {k: v for k, v in out.items() if k != "how_many"},
            Paper({"g-1": {cell(): 1, cell("e-9", holder="h-2"): 1}}),
        )
    known = filled("transfer", {"lot": G, "how_many": 2} | into | {"terms": "sale"}, Paper({"g-1": {cell(): 5}}))
    assert known.addition and known.taxon.id == "t-1" and known.owner.id == "h-1"


def test_fill_the_former_sex():
    change = {"animal": A, "to": "f", "stage": "completed"}
    assert filled("sex_change", change, Paper({"a-1": {cell(sex="male"): 1}})).was == "male"
    assert filled("sex_change", change, Paper()).was is None
