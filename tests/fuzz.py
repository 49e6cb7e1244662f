"""Mutants of good files of entries, seeded: none may end in a traceback, none may land in part.

    python -m tests.fuzz --mutants 100000      from the top of the project; some minutes, and what it saw
    python -m tests.fuzz --mutants 1 --seed 7  one mutant again

Each mutant goes the way of `tidemark load`: read, cut into batches, judged, written, in a book that stands in memory.
What must hold of each: a refusal is findings with every part said; what is refused leaves head, index and journal as
they were; nothing else than findings comes out. Every so often the book is told anew from its bytes and compared.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ledger
from ledger.chance import SeededChance
from ledger.findings import CODES
from ledger.intake import jsonl
from ledger.intake.row_key import JSONL, row_keys

LIMIT_MB = 512
AFRESH = 400  # mutants a book lives for: what landed makes it longer and slower
ACCEPT = {c.name: "taken as it is" for c in CODES if c.weight == "warning"}
NASTY: list[Any] = [
    *("", " ", "\x00", "\u200b", "\u202e", "é", "e\u0301", "水", "🐙", "'; DROP TABLE event; --", "=1+1", "<script>"),
    *("NULL", "NA", "nan", "00123", "1e9", "-0", "#1", "@1", "../../x", "%s", "{}", "\\", "\n", "x" * 5_000),
    *(None, True, False, 0, -1, 1, 2**31, 2**63, 10**40, [], {}, [[]], {"": ""}, [None], {"as": "x", "id": "a-1"}),
    *("2026-02-30", "infinity", "9999-12-31", "0001-01-01", "2026-01/2026-13", "2026-W01", "2026-XX", "../2026"),
]


NAMES = [f"MS-2026-000{n}" for n in range(1, 6)] + ["T3", "H1", "OSC", "MS", "B1", "f", "m", "loan", "Chromis viridis"]


class Fault(AssertionError):
    """A mutant that did what none may."""


def good() -> list[dict[str, Any]]:
    """A file of good entries of many kinds, as people write them."""
    sys.path.insert(0, str(Path(__file__).parent))
    import cli_house

    reef: dict[str, Any] = {"lot": "MS-2026-0001"}
    more: list[tuple[str, str, dict[str, Any]]] = [
        ("marking", "2026-03-02", {"animal": "MS-2026-0002", "scheme": "call_name", "value": "Bobbin"}),
        ("measurement", "2026-03-02", {"animal": "MS-2026-0002", "measure": "mass", "value": "142.5", "unit": "g"}),
        ("sexing", "2026-03-03", {"animal": "MS-2026-0002", "to": "f", "evidence": "behaviour"}),
        ("note", "2026-03-03", {"animal": "MS-2026-0002", "topic": "diet", "text": "Took the squid."}),
        ("count", "2026-03-05", {**reef, "how_many": 36, "enclosure": "T3"}),
        ("split", "2026-03-06", {**reef, "new": "MS-2026-0003", "how_many": "0.0.4", "from": "T3"}),
        ("draw", "2026-03-06", {**reef, "new": "MS-2026-0004", "sex": "u", "from": "T3"}),
        (
            "brood",
            "2026-03-07",
            {"brood": "B1", "taxon": "Sepia officinalis", "dam": "MS-2026-0002", "mode": "substrate"},
        ),
        ("escape", "2026-03-08", {"animal": "MS-2026-0004"}),
        ("recovery", "2026-03-09", {"animal": "MS-2026-0004", "enclosure": "T3"}),
        ("death", "2026-03-10/2026-03-12", {"animal": "MS-2026-0004", "cause": "not_determined"}),
    ]
    return cli_house.lines()[5:] + [{"kind": k, "occurred": day, "payload": p} for k, day, p in more]


def mutant(pick: random.Random, entries: list[dict[str, Any]]) -> bytes:
    """A file of a few good entries with one to four things wrong."""
    some = [json.loads(json.dumps(e)) for e in pick.sample(entries, pick.randint(1, 4))]
    for _ in range(pick.choice((1, 1, 1, 2, 4))):
        pick.choice((_value, _key, _twist, _near, _near, _near))(pick, some)
    data = "\n".join(json.dumps(e, ensure_ascii=bool(pick.getrandbits(1))) for e in some).encode(
        "utf-8", "surrogatepass"
    )
    for _ in range(pick.choice((0, 0, 0, 0, 1, 3))):
        data = pick.choice(BYTES)(pick, data)
    return data


def _place(pick: random.Random, some: list[dict[str, Any]]) -> tuple[Any, Any]:
    """A key of some object in the file."""
    at: Any = pick.choice(some)
    while True:
        key = pick.choice(list(at)) if at else "kind"
        if isinstance(at.get(key), dict) and at[key] and pick.random() < 0.8:
            at = at[key]
        else:
            return at, key


def _value(pick: random.Random, some: list[dict[str, Any]]) -> None:
    at, key = _place(pick, some)
    at[key] = pick.choice(NASTY)


def _key(pick: random.Random, some: list[dict[str, Any]]) -> None:
    at, key = _place(pick, some)
    value = at.pop(key, None)
    if pick.getrandbits(1):
        at[pick.choice(("seq", "prev", "actor", "id", key + "s", key[:-1], key.upper(), "payload", "supersedes"))] = (
            value
        )


def _twist(pick: random.Random, some: list[dict[str, Any]]) -> None:
    """Something that is right elsewhere: another's payload, another day, a supersession, a mark of a batch."""
    one, other = pick.choice(some), pick.choice(some)
    what = pick.randrange(5)
    if what == 0:
        one["payload"] = other.get("payload")
    elif what == 1:
        one["occurred"] = other.get("occurred")
    elif what == 2:
        one |= {"supersedes": f"#{pick.randint(0, 30)}", "reason": {"code": "mistake"}}
    elif what == 3:
        one["batch"] = pick.choice((1, "a", [], None))
    else:
        some.append(dict(one))


def _near(pick: random.Random, some: list[dict[str, Any]]) -> None:
    """A value that could be right: another name of the house, a number beside it, a day beside it."""
    at, key = _place(pick, some)
    if key == "occurred":
        at[key] = f"2026-0{pick.randint(1, 4)}-{pick.randint(1, 28):02}" + pick.choice(("", "", "/2026-04-30"))
    elif isinstance(at.get(key), int):
        at[key] += pick.choice((-1, 1, 30))
    else:
        at[key] = pick.choice(NAMES)


def _flip(pick: random.Random, data: bytes) -> bytes:
    at = pick.randrange(len(data) or 1)
    return data[:at] + bytes([pick.randrange(256)]) + data[at + 1 :]


def _cut(pick: random.Random, data: bytes) -> bytes:
    return data[: pick.randrange(len(data) or 1)]


PIECES = (b"\x00", b"\xff\xfe", b"{" * 50, b"[" * 50, b"\\ud800", b"9" * 400, b'"', b",", b"\r\n", b"1.5")


def _insert(pick: random.Random, data: bytes) -> bytes:
    at = pick.randrange(len(data) or 1)
    piece = pick.choice(
        (b"\x00", b"\xff\xfe", b"{" * 50, b"[" * 50, b"\\ud800", b"9" * 400, b'"', b",", b"\r\n", b"1.5")
    )
    return data[:at] + piece + data[at:]


def _repeat(pick: random.Random, data: bytes) -> bytes:
    at = pick.randrange(len(data) or 1)
    return data[:at] + data[max(0, at - pick.randrange(60)) :]


BYTES: tuple[Callable[[random.Random, bytes], bytes], ...] = (_flip, _cut, _insert, _repeat)


class Run:
    """Books in memory and what became of the mutants."""

    def __init__(self, folder: Path) -> None:
        self.sheet = folder / "mutant.jsonl"
        self.seen: Counter[str] = Counter()
        self.entries = good()
        self._afresh()

    def _afresh(self) -> None:
        if self.seen:
            self._whole()
            self.book.close()
        self.book = ledger.new_book(
            ":memory:",
            person={"person": "ADA", "name": "Ada", "role": "registrar"},
            house={"house": "MS", "name": "Marrow Sound Aquarium", "time_zone": "Europe/Lisbon", "hemisphere": "north"},
            chance=SeededChance(1, "2026-11-01T08:00:00Z"),
            occurred="2020-01-01",
        )
        import cli_house

        outcome = self.book.append(cli_house.lines(), by="ADA", accept=ACCEPT)
        if not outcome.landed:
            raise Fault(f"the good file is refused: {outcome.findings}")

    def _whole(self) -> None:
        """Nothing was left half done: the index and the journal are those of the bytes."""
        report = self.book.verify()
        if not report.whole:
            raise Fault(f"after mutants the book does not verify: {report.sentence()}")

    def one(self, number: int, seed: int) -> None:
        """One mutant, by its number. Raises Fault."""
        data = mutant(random.Random(f"{seed}/{number}"), self.entries)
        before = self.book.head
        try:
            said = self._load(data)
        except Exception as error:
            raise Fault(
                f"mutant {number} of seed {seed}: {type(error).__name__}: {error!s:.1500}\n{data[:2000]!r}"
            ) from error
        if said != "landed" and self.book.head != before:
            raise Fault(f"mutant {number} of seed {seed} was {said}, and something was written\n{data[:2000]!r}")
        self.seen[said] += 1
        if sum(self.seen.values()) % AFRESH == 0:
            self._afresh()

    def _load(self, data: bytes) -> str:
        self.sheet.write_bytes(data)
        reading = jsonl.read(self.sheet)
        cut, found = jsonl.batches(reading.rows)
        findings = [*reading.findings, *found]
        if not findings and reading.rows:
            keys = dict(zip(map(id, reading.rows), row_keys([r.entry for r in reading.rows], JSONL), strict=True))
            loaded = [[(row.entry, keys[id(row)]) for row in batch] for batch in cut]
            outcomes = self.book.load(loaded, by="ADA", accept=ACCEPT)
            findings = [f for outcome in outcomes for f in outcome.findings]
            if not findings:
                return "landed" if any(o.events for o in outcomes) else "recorded already"
        for f in findings:
            if not (f.where and f.found and f.expected and f.way_out and len(f.sentence()) < 4_000):
                raise Fault(f"a finding without all its parts, or too long: {f!r:.600}")
        return findings[0].code if findings else "empty"


def run(mutants: int, seed: int, *, first: int = 0, tell: Callable[[int], None] = lambda _: None) -> Counter[str]:
    """So many mutants; what became of them, by the first finding's code. Raises Fault at the first that may not be."""
    with tempfile.TemporaryDirectory() as folder:
        trial = Run(Path(folder))
        for number in range(first, first + mutants):
            trial.one(number, seed)
            tell(number)
        trial._whole()
        return trial.seen


def main() -> None:
    """The command."""
    words = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__.partition("\n")[0])
    words.add_argument("--mutants", type=int, default=1_000)
    words.add_argument("--seed", type=int, default=20260101)
    words.add_argument("--first", type=int, default=0, help="number of the first one")
    asked = words.parse_args()
    began = time.perf_counter()
    seen = run(asked.mutants, asked.seed, first=asked.first, tell=_progress)
    took = time.perf_counter() - began
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    for code, n in seen.most_common():
        print(f"{n:>9,}  {code}")  # noqa: T201 - the command's answer
    print(f"{asked.mutants:,} mutants, seed {asked.seed}, {took:,.0f} s, at most {most} MB; no fault.")  # noqa: T201
    if most > LIMIT_MB:
        raise SystemExit(f"more than {LIMIT_MB} MB")


def _progress(number: int) -> None:
    if number % 1_000 == 0 and sys.stderr.isatty():
        print(f"\r{number:,}", end="", file=sys.stderr)  # noqa: T201 - at a terminal only


if __name__ == "__main__":
    main()
