"""Names inside lists and parts of a payload: resolved, kept in the index, exchanged, struck out, as names anywhere."""

from __future__ import annotations

import json
from pathlib import Path

import cli_house
import pytest
from case_runner import Run

from ledger import refs
from ledger.checks.standing import plausible
from ledger.kinds import KINDS

WELL, REFUSED = 0, 3
AN_ID = "019b7db8-7800-70f1-8e2d-3c4b5a697887"
WHY = ("--because", "Read the wrong way round.", "--by", "ADA")
CLOWN, GOLDIE = "Amphiprion ocellaris", "Pseudanthias squamipinnis"


def opening(number, sex="u", taxon=CLOWN, **more):
    base = {"kind": "opening", "occurred": "2024-01-01", "animal": number, "taxon": taxon, "sex": sex}
    return base | {"enclosure": "T3"} | more


UNIT = {"kind": "social_unit", "occurred": "2024-01-02", "unit": "T3-A", "taxa": [CLOWN]}
UNIT |= {"sort": "pair_with_non_breeders", "enclosure": "T3"}
ORDER = {"kind": "hierarchy", "occurred": "2024-02-01", "unit": "T3-A", "order": ["MS-1", ["MS-2", "MS-3"]]}
PAIRS = [{"dam": "MS-1", "sire": "MS-2", "weight": "1/2"}, {"dam": "MS-1", "sire": "MS-3", "weight": "1/4"}]
BROOD = {"kind": "brood", "occurred": "2024-02-01", "brood": "B1", "taxon": CLOWN, "mode": "nest", "parents": PAIRS}


def told(*given):
    run = Run()
    for one in (opening("MS-1", "f"), opening("MS-2", "m"), opening("MS-3", "m"), UNIT, *given):
        run.give(one)
    return run


def payload_of(run, kind):
    return [e["payload"] for e in run.book.events() if e["kind"] == kind][-1]


def test_names_at_any_depth_are_walked_in_the_order_written():
    stored = KINDS["brood"].Payload.model_validate({k: v for k, v in BROOD.items() if k not in ("kind", "occurred")})
    assert [(at, ref.as_) for _, at, ref in refs.named(stored)] == [
        *(("parents.dam", "MS-1"), ("parents.sire", "MS-2"), ("parents.dam", "MS-1"), ("parents.sire", "MS-3")),
        *(("brood", "B1"), ("taxon", CLOWN)),
    ]
    typed = {k: v for k, v in BROOD.items() if k not in ("kind", "occurred")}
    assert [text for *_, text in refs.written(type(stored), typed)] == [ref.as_ for _, _, ref in refs.named(stored)]
    upper = refs.rewritten(stored, typed, lambda ref, text: text.lower())
    assert upper["parents"][1] == {"dam": "ms-1", "sire": "ms-3", "weight": "1/4"} and upper["mode"] == "nest"
    assert typed["parents"] is PAIRS and PAIRS[1]["sire"] == "MS-3"


def test_they_stand_as_ids_and_each_animal_knows_who_names_it():
    run = told(ORDER | {"label": "order"}, BROOD | {"label": "brood"})
    order = payload_of(run, "hierarchy")["order"]
    assert [[ref["as"] for ref in rank] for rank in order] == [["MS-1"], ["MS-2", "MS-3"]]
    assert all(ref["id"].startswith("a-") for rank in order for ref in rank)
    parents = payload_of(run, "brood")["parents"]
    assert [pair["weight"] for pair in parents] == ["1/2", "1/4"] and parents[1]["sire"]["id"] == order[1][1]["id"]
    for animal in ("MS-1", "MS-2", "MS-3"):
        (id_,) = run.book.index.find(("animal",), animal)
        assert {run.labels["order"], run.labels["brood"]} <= set(run.book.store.subject_seqs(id_))
        assert [e.kind for e in run.book.index.naming("named", id_)] == ["hierarchy"]
        assert [e.kind for e in run.book.index.naming("young", id_)] == ["brood"]


@pytest.mark.parametrize("entry", [ORDER, BROOD])
def test_a_repeat_is_known_and_another_order_is_not_the_same(entry):
    run = told(entry | {"event_id": AN_ID})
    assert run.book.append(run.typed(entry | {"event_id": AN_ID}), by="ADA").already
    other = json.loads(json.dumps(entry).replace("MS-3", "MS-1").replace("MS-2", "MS-3"))
    assert not run.book.append(run.typed(other | {"event_id": AN_ID}), by="ADA").landed


def test_a_sign_named_by_its_number_is_the_same_when_told_again():
    sign = {"kind": "sex_change", "occurred": "2024-03-01", "animal": "MS-2", "to": "f", "stage": "first_sign"}
    run = told(sign | {"label": "sign"})
    done = sign | {"occurred": "2024-04-01", "stage": "completed", "of": f"#{run.labels['sign']}", "event_id": AN_ID}
    run.give(done)
    assert run.book.append(run.typed(done), by="ADA").already
    assert run.book.append(run.typed({k: v for k, v in done.items() if k != "of"}), by="ADA").already


def test_what_names_an_animal_after_its_late_death_is_listed():
    run = told(ORDER, {"kind": "pairing", "occurred": "2024-02-01", "a": "MS-1", "b": "MS-2", "basis": "shared_host"})
    assert "names-absent" not in {f.code for f in plausible(run.book.index)}
    run.give({"kind": "death", "occurred": "2024-01-20", "animal": "MS-1", "recorded": "2024-02-10T09:00:00Z"})
    found = [f for f in plausible(run.book.index) if f.code == "names-absent"]
    assert [(f.where.split(",")[1].split(" of")[0].strip(), f.found) for f in found] == [
        ("the hierarchy on 2024-02-01", "MS-1 was not there on 2024-02-01"),
        ("the pairing on 2024-02-01", "MS-1 was not there on 2024-02-01"),
    ]


# --- through the command -------------------------------------------------------------------------------


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    made = cli_house.fresh(tmp_path)
    taxon = {"taxon": "Sepia officinalis", "enclosure": "H1", "sex": "unknown"}
    rows = [
        *(("opening", "2026-01-02", {**taxon, "animal": f"MS-{n}"}) for n in (1, 2, 3)),
        ("social_unit", "2026-01-03", {"unit": "H1-A", "sort": "other", "taxa": ["Sepia officinalis"]}),
        ("hierarchy", "2026-11-01", {"unit": "H1-A", "order": ["MS-1", ["MS-2", "MS-3"]]}),
        ("hierarchy", "2026-11-02", {"unit": "H1-A", "order": ["MS-1"]}),
        ("pairing", "2026-11-02", {"a": "MS-1", "b": "MS-2", "basis": "assumed"}),
    ]
    lines = [{"kind": kind, "occurred": day, "payload": payload} for kind, day, payload in rows]
    sheet = cli_house.written(tmp_path / "order.jsonl", lines)
    accept = ("--accept", "late", "--accept", "not-of-the-unit", "--because", "Late.")
    result = made.run("load", sheet, "--by", "ADA", *accept)
    assert result.exit_code == WELL, result.output
    return made


def words(house, kind):
    return [r["words"] for r in house.rows("log", "--kind", kind)["rows"] if r["superseded_by"] is None]


def test_an_order_is_put_round_with_its_animals(house):
    result = house.run("reassign", "MS-1", "MS-3", "--from", "2026-11-01", "--yes", *WHY)
    assert result.exit_code == WELL, result.output
    assert "order MS-3; MS-2; MS-1" in words(house, "hierarchy")[0]
    assert any(r["subject"] == "MS-3 → MS-2" for r in house.rows("log", "--kind", "pairing")["rows"])
    assert house.run("verify").exit_code == WELL


def test_struck_out_from_a_list_and_with_it_what_cannot_be_without(house):
    (first,) = [r["seq"] for r in house.rows("log", "--kind", "opening")["rows"] if r["subject"] == "MS-1"]
    alone = house.run("strike-out", first, "--reason", "mistake", "--by", "ADA")
    assert alone.exit_code == REFUSED and "still-named" in alone.output
    result = house.run("strike-out", first, "--reason", "mistake", "--with-all", "--yes", *WHY)
    assert result.exit_code == WELL, result.output
    (left,) = [w for w in words(house, "hierarchy") if "order" in w]
    assert left.startswith("order MS-2; MS-3;")
    assert not words(house, "pairing")
    assert house.run("verify").exit_code == WELL
