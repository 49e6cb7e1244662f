"""A machine that fails while somebody records, and text that would act: nothing is lost, nothing acts."""

from __future__ import annotations

import csv
import io
import json
import resource
import sqlite3
import subprocess
import sys
from pathlib import Path

import cli_house
import pytest

import ledger

ENVIRONMENT, WELL = 6, 0
LOAD = ("--by", "ADA", "--accept", "late", "--because", "Taken over from the card index.")
TEXTS = [
    "'; DROP TABLE event; --",
    "=1+1",
    "@SUM(A1)",
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "NULL",
    "NA",
    "nan",
    "00123",
    "1e5",
    "true",
    "[bold]b[/] {0} %s \\n",
    "🐙 octopus 👩\u200d🔬",
    "דולפין גדול",
    "ماهی کوچک",
    "Ünïcödé 水族館",
    "two  spaces",
    "“quoted” 'and' \"again\"",
    "| a | b |",
    "$(rm -rf /) `id`",
]


@pytest.fixture
def house(tmp_path: Path) -> cli_house.House:
    return cli_house.fresh(tmp_path)


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> cli_house.House:
    """A house in which every such text is the name of an enclosure, of an animal in it, and of a note about that."""
    house = cli_house.fresh(tmp_path_factory.mktemp("odd"))
    entries: list[dict[str, object]] = []
    for n, text in enumerate(TEXTS):
        tank = {"enclosure": f"ODD{n}", "name": text, "house": "MS", "purpose": "exhibit"}
        animal = {"animal": f"MS-ODD-{n}", "taxon": "Sepia officinalis", "enclosure": f"ODD{n}", "name": text}
        note = {"animal": f"MS-ODD-{n}", "topic": "diet", "text": text}
        kinds = (("enclosure", tank), ("opening", animal), ("note", note))
        entries += [{"kind": kind, "occurred": "2026-01-03", "payload": payload} for kind, payload in kinds]
    loaded = house.run("load", cli_house.written(house.path.with_name("odd.jsonl"), entries), *LOAD)
    assert loaded.exit_code == WELL, loaded.output
    return house


def test_text_is_kept_exactly(odd: cli_house.House) -> None:
    rows = odd.rows("census", "--on", "2026-02-01", "--by", "enclosure")["rows"]
    assert set(TEXTS) <= {row["enclosure_name"] for row in rows}
    book = ledger.open_book(str(odd.path))
    events = [e for e in book.events() if "animal" in e["payload"] and "ODD" in e["payload"]["animal"]["as"]]
    book.close()
    assert [e["payload"]["name"] for e in events if e["kind"] == "opening"] == TEXTS
    notes = [e["seq"] for e in events if e["kind"] == "note"]
    for seq, text in zip(notes, TEXTS, strict=True):
        assert json.loads(odd.run("show", seq, "--format", "json").stdout)["content"]["payload"]["text"] == text


def test_text_is_shown_inert(odd: cli_house.House) -> None:
    """No cell of a sheet is a formula, and no page has a tag of it."""
    sheet = odd.run("census", "--on", "2026-02-01", "--by", "enclosure", "--format", "csv").stdout
    cells = [cell for row in csv.reader(io.StringIO(sheet)) for cell in row]
    assert "'=1+1" in cells and not [cell for cell in cells if cell.startswith(("=", "@", "+"))]
    written = odd.run("report", "2026", "--into", odd.path.parent)
    assert written.exit_code == WELL, written.output
    page = odd.path.with_name("annual-report-2026.html").read_text(encoding="utf-8")
    assert "&lt;script&gt;alert(1)" in page, "the canary: it is on the page"
    assert "<script>alert" not in page and "<img src=x" not in page


def _with_room(house: cli_house.House, spare: int) -> subprocess.CompletedProcess[str]:
    """Record a note while no file may grow by more than so many bytes."""
    most = house.path.stat().st_size + spare

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    words = ["record", "note", "topic=diet", "text=" + "x" * 60_000, "animal=MS-2026-0002", "occurred=2026-03-01"]
    program = "import sys; sys.argv[0] = 'tidemark'; from reports.cli import main; main()"
    return subprocess.run(
        [
            sys.executable,
            "-c",
            program,
            *words,
            "--by",
            "ADA",
            "--accept",
            "late",
            "--because",
            "a test",
            "--book",
            house.path,
        ],
        preexec_fn=limit,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[1],
        check=False,
        timeout=120,
    )


def test_a_full_disk_writes_nothing_and_says_so(house: cli_house.House) -> None:
    before = house.position()
    full = _with_room(house, -house.path.stat().st_size + 8_192)
    assert full.returncode == ENVIRONMENT, full.stderr + full.stdout
    assert "Traceback" not in full.stderr and full.stderr.strip().endswith(".")
    assert house.position() == before
    assert house.run("verify").exit_code == WELL
    assert _with_room(house, 1 << 30).returncode == WELL, "with room it is recorded"
    assert house.position() == before + 1


def test_a_locked_book_is_told_and_can_be_read_meanwhile(
    house: cli_house.House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ledger.store.sqlite_file.WAIT_MS", 200, raising=False)
    other = sqlite3.connect(house.path, isolation_level=None)
    other.execute("begin immediate")
    try:
        assert house.rows("census")["position"] == 14
        note = ("record", "note", "topic=diet", "text=squid", "animal=MS-2026-0002", "occurred=today", "--by", "ADA")
        refused = house.run(*note)
        assert refused.exit_code == ENVIRONMENT and "Traceback" not in refused.output
    finally:
        other.execute("rollback")
        other.close()
    assert house.run(*note).exit_code == WELL


@pytest.mark.parametrize("kept", [0, 100, 4096, 20_000])
def test_a_half_written_book_is_told(house: cli_house.House, kept: int) -> None:
    """The file as it is left where a copy was cut short."""
    house.path.write_bytes(house.path.read_bytes()[:kept])
    for command in (
        ("census",),
        ("verify",),
        ("record", "note", "topic=diet", "text=x", "occurred=today", "--by", "ADA"),
    ):
        result = house.run(*command)
        assert result.exit_code in (5, ENVIRONMENT), result.output
        assert "Traceback" not in result.output and "sqlite3" not in result.output


def test_a_book_of_a_later_program_is_left_alone(house: cli_house.House) -> None:
    with sqlite3.connect(house.path) as db:
        db.execute("pragma user_version = 99")
    before = house.path.read_bytes()
    for command in (("census",), ("verify",)):
        assert house.run(*command).exit_code == ENVIRONMENT
    assert house.path.read_bytes() == before
