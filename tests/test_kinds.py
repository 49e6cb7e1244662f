"""Every kind: its story and example, its model, its schema, what is refused by name, and what it does as acts."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import get_args

import pytest
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from ledger import kinds, words
from ledger.acts import AWAY, HELD, LIVE, LOST, PAPER, SEEN, Act, Back, Cell, Enter, Level, Shift, Step
from ledger.kinds import KINDS, _fields, _terms, page
from ledger.kinds._kind import HEADINGS, Kind
from ledger.kinds.base import CannotFill, Names, Ref

ALL = sorted(KINDS)


def example(kind):
    return json.loads(kind.story()["Example"])


# --- files, stories, schemas ---------------------------------------------------------------------------


def test_every_file_is_in_the_list():
    folder = Path(kinds.__file__).parent
    files = {p.stem for p in folder.glob("*.py") if not p.stem.startswith("_")} - {"base", "page"}
    assert files == set(KINDS)


@pytest.mark.parametrize("name", ALL)
def test_the_story_has_its_headings_in_order(name):
    story = KINDS[name].story()
    assert list(story) == ["", *HEADINGS]
    assert all(story.values())


@pytest.mark.parametrize("name", ALL)
def test_the_example_is_taken(name):
    kind = KINDS[name]
    entry = example(kind)
    assert entry["kind"] == name
    kind.Payload.model_validate(entry["payload"])


@pytest.mark.parametrize("name", ALL)
def test_the_schema_takes_the_example_and_no_other_field(name):
    schema = kinds.schema(name)
    Draft202012Validator.check_schema(schema)
    payload = example(KINDS[name])["payload"]
    validator = Draft202012Validator(schema)
    validator.validate(payload)
    assert not validator.is_valid(payload | {"no_such_field": 1})


@pytest.mark.parametrize("name", ALL)
def test_an_unknown_field_is_refused(name):
    payload = example(KINDS[name])["payload"] | {"no_such_field": 1}
    with pytest.raises(ValidationError, match="no_such_field"):
        KINDS[name].Payload.model_validate(payload)


@pytest.mark.parametrize("name", ALL)
def test_fields_of_a_later_version_are_named_with_the_way_out(name):
    kind = KINDS[name]
    for later, way_out in kind.LATER.items():
        outer, _, inner = later.partition(".")
        payload = {outer: {inner: 5} if inner else "something"}
        assert kind.later(payload) == [(later, way_out)]
        assert way_out.endswith((".", ".…"))
        with pytest.raises(ValidationError):  # never ignored, also where nobody asks for `later`
            kind.Payload.model_validate(example(kind)["payload"] | payload)
    assert kind.later(example(kind)["payload"]) == []


@pytest.mark.parametrize("name", ALL)
def test_the_stored_form_reads_back_as_itself(name):
    kind = KINDS[name]
    dumped = kind.Payload.model_validate(example(kind)["payload"]).model_dump(by_alias=True, exclude_none=True)
    assert kind.read(dumped, kind.VERSION).model_dump(by_alias=True, exclude_none=True) == dumped


def test_the_page_is_fresh(tmp_path):
    beside = Path(page.__file__).with_name("README.md")
    assert beside.read_text(encoding="utf-8") == page.page(), "write it anew: python -m ledger.kinds.page"
    assert page.write(tmp_path / "README.md").read_text(encoding="utf-8") == page.page()


def test_closed_lists_are_those_of_the_words():
    assert get_args(_fields.CitesPurpose) == tuple(words.CITES_PURPOSE)
    assert get_args(_fields.Standing) == words.STANDINGS
    assert get_args(_fields.Lost) == words.LOST
    assert get_args(_terms.Terms) == words.TERMS
    assert {*_terms.PASS_TITLE, *_terms.LEND, *_terms.RETURN, _terms.DELIVER} == set(words.TERMS)
    schemas = {name: kinds.schema(name)["properties"] for name in ("enclosure", "enclosure_changed", "acquisition")}
    assert schemas["enclosure"]["purpose"]["enum"] == list(words.PURPOSES)
    assert schemas["enclosure_changed"]["purpose"]["anyOf"][0]["enum"] == list(words.PURPOSES)
    assert schemas["acquisition"]["manner"]["enum"] == list(words.ACQUISITION_MANNERS)
    title = kinds.schema("title_change")["properties"]["terms"]["anyOf"][0]["enum"]
    assert title == list(words.TITLE_TERMS)
    marks = [kinds.schema(name)["properties"]["scheme"]["enum"] for name in ("marking", "unmarking")]
    assert marks[0] == marks[1]


def test_a_kind_says_what_names_and_what_is_text():
    death = kinds.load("death")
    assert death.names["animal"] == Names(("animal",))
    assert death.names["from"] == Names(("enclosure", "party"))
    assert set(death.texts) == {"note", "cause_text", "circumstance_text", "euthanasia_ground"}
    assert kinds.load("taxon").names["hybrid_of"] == Names(("taxon",))
    assert kinds.load("draw").names["new"] == Names(("animal",), "must")
    assert kinds.nearest("hatchin") == "hatching" and kinds.nearest("sex change") == "sex_change"
    assert kinds.nearest("zzz") == "" and death.nearest_field("casue") == "cause"


def test_upcasts_are_applied_step_by_step_and_a_newer_version_is_not_read():
    old = Kind(KINDS["release"].module)
    old.VERSION = 3
    old.upcasts = {1: lambda p: p | {"a": 1}, 2: lambda p: p | {"b": p["a"] + 1}}
    assert old.upcast({}, 1) == {"a": 1, "b": 2}
    assert old.upcast({"a": 5}, 2) == {"a": 5, "b": 6}
    with pytest.raises(ValueError, match="newer"):
        KINDS["release"].read({}, 2)


def test_a_corrected_field_takes_what_followed_from_it_along():
    stored = {"terms": "sale", "owner": "MS", "standing": "collection", "note": "x", "animal": "MS-1"}
    corrected = kinds.load("transfer").corrected(stored, {"terms": "loan", "note": None})
    assert corrected == {"terms": "loan", "animal": "MS-1"}


# --- fields that do not go together ------------------------------------------------------------------------


IMPOSSIBLE = [
    ("death", {"animal": "A", "lot": "B"}, "bad-field"),
    ("death", {}, "bad-field"),
    ("death", {"animal": "A", "how_many": 2}, "not-one"),
    ("death", {"lot": "B", "how_many": 0}, "no-number"),
    ("death", {"lot": "B", "how_many": "1.0.0", "sex_found": "f"}, "bad-field"),
    ("death", {"animal": "A", "decided_by": "ADA"}, "bad-field"),
    ("opening", {"animal": "A", "how_many": 2, "taxon": "T", "enclosure": "E"}, "not-one"),
    ("opening", {"lot": "B", "sex": "f", "how_many": 2, "taxon": "T", "enclosure": "E"}, "bad-field"),
    ("opening", {"animal": "A", "enclosure": "E"}, "bad-field"),
    ("opening", {"animal": "A", "taxon": "T", "enclosure": "E", "born": "2025-13"}, "bad-date"),
    ("transfer", {"animal": "A", "from": "X", "to": "Y", "terms": "loan", "leaving": "E"}, "bad-field"),
    ("sexing", {"lot": "B", "how_many": {"m": 1}, "to": "m"}, "bad-field"),
    ("sex_change", {"animal": "A", "to": "f", "was": "f", "stage": "completed"}, "bad-field"),
    ("sex_change", {"lot": "B", "to": "f", "was": "m", "how_many": 1, "stage": "completed"}, "bad-field"),
    ("merge", {"lot": "B", "into": "B"}, "bad-field"),
    ("count", {"lot": "B"}, "missing"),
    ("house", {"house": "H", "name": "N", "time_zone": "../x", "hemisphere": "north"}, "bad-field"),
]


@pytest.mark.parametrize(("name", "payload", "code"), IMPOSSIBLE)
def test_impossible_fields_are_refused_with_a_way_out(name, payload, code):
    with pytest.raises(ValidationError) as refused:
        KINDS[name].Payload.model_validate(payload)
    (error,) = refused.value.errors()
    assert error["type"] == code
    assert code == "missing" or set(error["ctx"]) == {"field", "found", "expected", "way_out"}


@pytest.mark.parametrize("pattern", ["MS-{n}", "MS-{year}-{n:04}", "{year}/{n:3}"])
def test_number_patterns(pattern):
    house = {"house": "H", "name": "N", "time_zone": "UTC", "hemisphere": "south", "number_pattern": pattern}
    KINDS["house"].Payload.model_validate(house)
    for bad in ("MS-{year}", "{n.__class__}", "{n!r}", "{}"):
        with pytest.raises(ValidationError):
            KINDS["house"].Payload.model_validate(house | {"number_pattern": bad})


@pytest.mark.parametrize(("low", "high"), [("1.5", "2"), (17, 21), ("-2", "-1.25")])
def test_facts_are_decimal_text(low, high):
    fact = {"fact": "egg_days", "low": low, "high": high, "unit": "d", "source": "s", "trust": "seen"}
    taxon = {"taxon": "X y", "rank": "species", "facts": [fact]}
    made = KINDS["taxon"].Payload.model_validate(taxon)
    assert made.facts[0].low == str(low)
    for bad in (1.5, "1,5", "1e3", "x", True, "99"):
        with pytest.raises(ValidationError):
            KINDS["taxon"].Payload.model_validate(taxon | {"facts": [fact | {"low": bad}]})


# --- acts of stored payloads ----------------------------------------------------------------------------------

A, G, N = ({"as": "x", "id": i} for i in ("a-1", "g-1", "g-2"))
E1, E2, T, H, O = ({"as": "x", "id": i} for i in ("e-1", "e-2", "t-1", "h-1", "o-1"))  # noqa: E741
H2, T2 = {"as": "x", "id": "h-2"}, {"as": "x", "id": "t-2"}
IN_HOUSE = {"taxon": T, "enclosure": E1, "holder": H, "owner": H, "standing": "collection"}
MALE = (("male", 1),)
TWO = (("unknown", 2),)


def acts(name, payload):
    kind = KINDS[name]
    return kind.acts(kind.Payload.model_validate(payload))


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
    assert (again.axes, again.title) == ("*", ())
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
    assert (found.reason, found.axes, found.finding, found.only_from) == ("sexed", "s", True, ("unknown",))
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
    assert acts(name, example(KINDS[name])["payload"]) == ()


def test_acts_never_fail_on_a_payload_that_nobody_filled_in():
    for name in set(KINDS) - QUIET:
        assert isinstance(acts(name, example(KINDS[name])["payload"]), tuple)


# --- what the book fills in -----------------------------------------------------------------------------------


@dataclass
class Paper:
    """A look at a book on paper."""

    at: dict[str, dict[Cell, int]] = field(default_factory=dict)
    new: tuple[str, ...] = ()

    def house_of(self, enclosure):
        return Ref.model_validate(H2 if enclosure.id == "e-9" else H)

    def cells(self, subject):
        return self.at.get(subject.id, {})

    def ref(self, id):
        return Ref.model_validate({"as": id.upper(), "id": id})

    def is_new(self, subject):
        return subject.id in self.new


def cell(place="e-1", sex="unknown", owner="h-1", holder="h-1", standing="collection"):
    return Cell("t-1", sex, place, holder, owner, standing)


def filled(name, payload, look):
    kind = KINDS[name]
    return kind.fill(kind.Payload.model_validate(payload), look)


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
