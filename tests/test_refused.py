"""Bad input, kept as data in `cases/refused/`: each is refused in one sentence, and nothing of it is written.

A case is one file that somebody loads, and what must be said of it. Its file is an `entry` (written as one line of
JSON), a `line` (text as it stands; `REPEAT(x, n)` stands for n times x) or `hex` (bytes). `refused` names the codes,
all of them; `says` what the sentence must hold, in the words of a person. All cases meet one small house; `before` is
entered first, once for all.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import cli_house
import pytest
from case_files import read_yaml

REFUSED = 3
FILES = sorted((Path(__file__).parent / "cases" / "refused").glob("*.yaml"))
CASES = [(path.stem, case) for path in FILES for case in read_yaml(path.read_text(encoding="utf-8"))]
BEFORE = [entry for _, case in CASES for entry in case.get("before", [])]
LOAD = ("--by", "ADA", "--accept", "late", "--because", "Taken over from the card index.")


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> cli_house.House:
    """One book for all: what a case writes would be seen by the next."""
    house = cli_house.fresh(tmp_path_factory.mktemp("refused"))
    loaded = house.run("load", cli_house.written(house.path.with_name("before.jsonl"), BEFORE), *LOAD)
    assert loaded.exit_code == 0, loaded.output
    return house


def bytes_of(case: dict[str, Any]) -> bytes:
    if "hex" in case:
        return bytes.fromhex(case["hex"])
    text = case["line"] if "line" in case else json.dumps(case["entry"], ensure_ascii=False)
    return re.sub(r"REPEAT\((.), (\d+)\)", lambda m: m[1] * int(m[2]), text).encode("utf-8", "surrogatepass")


def _id(case: Any) -> str:
    return case["case"] if isinstance(case, dict) else str(case)


@pytest.mark.parametrize(("file", "case"), CASES, ids=_id)
def test_it_is_refused_in_one_sentence_and_nothing_is_written(
    house: cli_house.House, file: str, case: dict[str, Any]
) -> None:
    assert set(case) <= {"case", "before", "entry", "line", "hex", "refused", "says"}, "a key nobody reads"
    before = house.path.read_bytes()
    sheet = house.path.with_name("sheet.jsonl")
    sheet.write_bytes(bytes_of(case))
    result = house.run("load", sheet, *LOAD)
    said = result.output
    assert result.exit_code == REFUSED, said
    assert house.path.read_bytes() == before and not list(house.path.parent.glob("*-wal")), "something was written"
    assert Counter(re.findall(r"^refused: ([a-z-]+)", said, re.MULTILINE)) == Counter(case["refused"])
    for part in ("found", "expected", "way out"):
        assert re.search(rf"^ +{part} +\S", said, re.MULTILINE), f"no {part}: {said}"
    assert f"{sheet.name}, line" in said, "it does not say where"
    for words in case["says"]:
        assert words in said, said
    assert "Traceback" not in said and "\x1b" not in said and "\u202e" not in said
    assert len(said) < 2_000, "a sentence, not what was typed"


def test_there_are_enough_of_them_and_none_twice() -> None:
    assert len(CASES) >= 90
    told = Counter(bytes_of(case) for _, case in CASES)
    assert not [raw[:80] for raw, n in told.items() if n > 1]
    assert not [name for name, n in Counter(case["case"] for _, case in CASES).items() if n > 1]


def test_what_is_fine_would_fail_here(house: cli_house.House, tmp_path: Path) -> None:
    """The canary: a good entry lands, so a refusal above is the entry's own doing."""
    other = cli_house.fresh(tmp_path)
    good = {"kind": "death", "occurred": "2026-04-01", "payload": {"animal": "MS-2026-0002"}}
    assert other.run("load", cli_house.written(tmp_path / "good.jsonl", [good]), *LOAD).exit_code == 0
