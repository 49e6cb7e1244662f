"""Four programs record, correct and report on one book at once, and some of them crash: one log, and all of it true.

TIDEMARK_SECONDS=60 lets them run for a minute, as was done before the first release; here a few seconds.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import cli_house
import pytest
from oracle.census import Oracle

import ledger
from ledger.read import AsOf, Copy
from ledger.store.places import open_store

SECONDS = float(os.environ.get("TIDEMARK_SECONDS", "4"))
WRITERS = ("writer1", "writer2", "writer3", "writer4")
PROGRAM = Path(__file__).with_name("writer.py")
DAY = date(2026, 5, 1)
CRASHED = 9


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    """The small house, many more animals in its lot, and two notes that all will correct."""
    house = cli_house.fresh(tmp_path)
    note = {"lot": "MS-2026-0001", "topic": "diet", "text": "Fed."}
    more = [{"kind": "note", "occurred": "2026-03-02", "payload": note | {"text": f"Fed {n}."}} for n in (1, 2)]
    lot = {"into": "MS-2026-0001", "how_many": {"u": 5000}, "enclosure": "T3"}
    more.append({"kind": "hatching", "occurred": "2026-03-03", "payload": lot})
    sheet = cli_house.written(tmp_path / "more.jsonl", more)
    loaded = house.run("load", sheet, "--by", "ADA", "--accept", "late", "--because", "a test")
    assert loaded.exit_code == 0, loaded.output
    return house


def _run(house: cli_house.House, way: str, seconds: float = SECONDS) -> dict[str, list[dict[str, Any]]]:
    """Run all four to their end; one that crashed is started again for what is left of the time."""
    command = [sys.executable, PROGRAM, house.path]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}

    def started(name: str, left: float) -> subprocess.Popen[str]:
        words = [*command, name, f"{left:.3f}", way]
        return subprocess.Popen(words, env=environment, stderr=subprocess.PIPE, text=True)

    until = time.monotonic() + seconds
    running = {name: started(name, seconds) for name in WRITERS}
    while running:
        for name, process in list(running.items()):
            if process.poll() is None:
                continue
            said = process.communicate()[1]
            del running[name]
            if process.returncode == CRASHED:  # after a commit, and it does not know it
                running[name] = started(name, max(until - time.monotonic(), 0.1))
            else:
                assert process.returncode == 0, said
        assert time.monotonic() < until + 240, "they do not come to an end"
        time.sleep(0.02)
    return {
        name: [json.loads(line) for line in house.path.with_name(f"{house.path.name}.{name}").read_text().splitlines()]
        for name in WRITERS
    }


def _order(did: dict[str, list[dict[str, Any]]]) -> None:
    """What had ended before another thing began stands before it in the log."""
    acts = [line for lines in did.values() for line in lines if line.get("at") and line.get("landed", True)]
    ends = sorted(acts, key=lambda act: act["ended"])
    latest, k = 0, 0
    for act in sorted(acts, key=lambda act: act["began"]):
        while ends[k]["ended"] < act["began"]:
            latest = max(latest, *ends[k]["at"])
            k += 1
        assert min(act["at"]) > latest, "the log has another order than the clock"


def _as_the_oracle_says(house: cli_house.House) -> None:
    """The journal's census is that of a plain replay of the log."""
    oracle = Oracle()
    with closing(ledger.open_book(str(house.path))) as book:
        events = list(book.events())
        known = book.head[0]
    oracle.read(events)
    want = Counter({key: n for key, n in oracle.census(DAY.toordinal(), known).items() if key[3].startswith("e-")})
    with closing(open_store(str(house.path))) as store, closing(Copy(store)) as copy:
        frame = copy.cells(AsOf(DAY, known))
    got = Counter({tuple(row[:-1]): row[-1] for row in frame.iter_rows() if row[3].startswith("e-")})
    assert got == want


def test_four_programs_and_one_log(house: cli_house.House) -> None:
    did = _run(house, "crashes")
    every = [line for lines in did.values() for line in lines]
    with closing(ledger.open_book(str(house.path))) as book:
        events = list(book.events())
        assert book.verify().whole, book.verify().sentence()
    assert [event["seq"] for event in events] == list(range(1, len(events) + 1)), "a gap"
    recorded = [event["recorded"] for event in events]
    assert recorded == sorted(recorded)
    standing = Counter(event["event_id"] for event in events)
    assert set(standing.values()) == {1}, "one command recorded twice"
    wanted = {line["id"] for line in every if line["what"] == "will send"}
    assert wanted <= set(standing), "a command that was sent is lost"
    assert not [line for line in every if line["what"] == "moved"], "an earlier answer moved"
    assert not [line for line in every if line["what"] == "trouble"]
    _order(did)
    _as_the_oracle_says(house)
    assert len(wanted) > 8 and sum(line["what"] == "reported" for line in every) > 0


def test_of_two_corrections_one_wins_and_the_other_is_told(house: cli_house.House) -> None:
    did = _run(house, "calm", min(SECONDS, 3))
    corrected = [line for lines in did.values() for line in lines if line["what"] == "corrected"]
    won = Counter(line["of"] for line in corrected if line["at"])
    assert won and set(won.values()) == {1}, "two corrections of one event stand"
    lost = [line for line in corrected if not line["at"]]
    assert lost and {code for line in lost for code in line["codes"]} == {"not-the-newest"}
    assert all("ADA" in line["said"][0] and "#" in line["said"][0] for line in lost), lost[0]["said"]


def test_the_command_ends_with_4_for_the_one_that_lost(house: cli_house.House) -> None:
    words = ("--reason", "mistake", "--by", "ADA")
    assert house.run("correct", "#15", "text=once", *words).exit_code == 0
    lost = house.run("correct", "#15", "text=twice", *words)
    assert lost.exit_code == 4 and "ADA" in lost.output, lost.output


def test_canary_with_deferred_transactions_it_fails(house: cli_house.House) -> None:
    did = _run(house, "deferred", min(SECONDS, 3))
    trouble = Counter(line["said"] for lines in did.values() for line in lines if line["what"] == "trouble")
    assert trouble, "four writers, and no trouble: the test above cannot fail"
