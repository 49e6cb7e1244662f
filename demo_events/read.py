"""The event files as they are loaded: the genesis, then the lines by time of recording."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def genesis() -> dict[str, Any]:
    """`recorded` (UTC instant), `seed` of ids and salts, and the typed payloads `person` and `house`."""
    loaded: dict[str, Any] = json.loads((HERE / "genesis.json").read_text(encoding="utf-8"))
    return loaded


def lines() -> Iterator[dict[str, Any]]:
    """`{"recorded", "by", "accept"?, "entry"}` in the order of recording; entries of one `batch` follow each other."""
    for path in sorted(HERE.glob("20[0-9][0-9]-q[1-4].jsonl")):
        with path.open(encoding="utf-8") as file:
            for row in file:
                yield json.loads(row)


def batches() -> Iterator[list[dict[str, Any]]]:
    """The lines as they are recorded: those of one `batch` mark together, every other line by itself."""
    held: list[dict[str, Any]] = []
    for line in lines():
        mark = line["entry"].get("batch")
        if held and (mark is None or mark != held[-1]["entry"].get("batch")):
            yield held
            held = []
        held.append(line)
    if held:
        yield held
