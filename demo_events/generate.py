"""Writes the event files: `python -m demo_events.generate`. Seeded; the same bytes every time.

Every story is told into one diary, the diary is typed (times, recorders, accession numbers, ids), and the
lines are written a quarter of a year to a file, by time of recording.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

from demo_events.diary import Diary
from demo_events.dice import SEED
from demo_events.roster import FIRST_PERSON, HOUSES
from demo_events.stories import (
    anemonefish,
    authority,
    bamboo,
    birdhall,
    bonds,
    cardinals,
    cephalopods,
    corals,
    dragons,
    jacanas,
    mates,
    pair_tanks,
    papers,
    penguins,
    register,
    residents,
    seahorses,
    sealions,
    sharks,
    shoal,
    singles,
    terns,
    units,
    wrasses,
)

HERE = Path(__file__).parent
STORIES: tuple[Callable[[Diary, int], None], ...] = (
    register.tell,
    seahorses.tell,
    anemonefish.tell,
    wrasses.tell,
    shoal.tell,
    cardinals.tell,
    cephalopods.tell,
    sharks.tell,
    residents.tell,
    singles.tell,
    authority.tell,
    penguins.tell,
    terns.tell,
    sealions.tell,
    birdhall.tell,
    jacanas.tell,
    corals.tell,
    papers.tell,
    pair_tanks.tell,
    dragons.tell,
    bamboo.tell,
    units.tell,
    bonds.tell,
    mates.tell,
)
STEP = 10  # a story file may hold up to ten stories; their order on a day follows


def lines() -> list[dict[str, Any]]:
    """All lines, by time of recording."""
    diary = Diary()
    for k, tell in enumerate(STORIES):
        tell(diary, k * STEP)
    return diary.typed()


def genesis() -> dict[str, Any]:
    """The first person and the first house, when the book was begun, and the seed of its ids and salts."""
    person = {"person": FIRST_PERSON.code, "name": FIRST_PERSON.name, "role": FIRST_PERSON.role}
    return {"recorded": "2023-01-01T09:00:00Z", "seed": SEED, "person": person, "house": HOUSES["MS"]}


def files() -> dict[str, str]:
    """Name of each file to its text."""
    quarters: dict[str, list[str]] = defaultdict(list)
    for line in lines():
        year, month = line["recorded"][:4], int(line["recorded"][5:7])
        quarters[f"{year}-q{(month + 2) // 3}.jsonl"].append(json.dumps(line, ensure_ascii=False))
    out = {name: "\n".join(rows) + "\n" for name, rows in quarters.items()}
    out["genesis.json"] = json.dumps(genesis(), ensure_ascii=False, indent=2) + "\n"
    return out


if __name__ == "__main__":
    for name, text in files().items():
        (HERE / name).write_text(text, encoding="utf-8")
