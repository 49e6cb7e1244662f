"""Every kind: its story and example, its model, its schema, and what is refused by name."""

from __future__ import annotations

import json
from pathlib import Path
from typing import get_args

import pytest
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from ledger import kinds, words
from ledger.kinds import KINDS, _fields, _terms, page
from ledger.kinds._kind import HEADINGS, Kind
from ledger.kinds.base import Names

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
    ("count", {"lot": "B"}, "bad-field"),
    ("enclosure_closed", {}, "missing"),
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
