"""The demo as a newcomer runs it, and the command at a real terminal."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import cli_house
import pytest

ROOT = Path(__file__).resolve().parent.parent
WELL, CONFLICT = 0, 4


def test_the_demo_is_one_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = cli_house.run("demo", "--into", "demo-out")
    assert done.exit_code == WELL, done.output
    for said in ("census on", "Adds up: ", "recording times invented", "Wrote demo-out", "Next, in demo-out:"):
        assert said in done.output
    assert "DOES NOT ADD UP" not in done.output
    (page,) = Path("demo-out").glob("annual-report-*.html")
    assert f"annual-report-{page.stem[-4:]}.html" in done.output
    written = {path: path.read_bytes() for path in Path("demo-out").iterdir()}
    assert sorted(path.name for path in written) == [page.name, "tidemark.sqlite"]

    again = cli_house.run("demo", "--into", "demo-out")
    assert again.exit_code == CONFLICT and "nothing is changed" in again.output
    assert {path: path.read_bytes() for path in Path("demo-out").iterdir()} == written

    house = cli_house.House(Path("demo-out/tidemark.sqlite"))
    answer = house.rows("year", page.stem[-4:])
    assert all(row["adds_up"] for row in answer["rows"])
    assert "recording times invented" in answer["basis"]
    assert house.run("verify").exit_code == WELL
    # afterwards the book goes on by the clock of the machine
    entry = ("note", "topic=diet", "text=Squid.", "occurred=yesterday", "--by", "QM")
    assert house.run("record", *entry).exit_code == WELL
    assert house.position() == answer["position"] + 1


@pytest.mark.skipif(os.name != "posix", reason="asks for a pseudo-terminal")
def test_at_a_real_terminal_it_asks_and_colours_findings_alone(tmp_path: Path) -> None:
    import pty

    house = cli_house.fresh(tmp_path)
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "70", "LINES": "40"}
    env.pop("NO_COLOR", None)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "reports.cli", "record", "death", "--by", "ADA", "--book", str(house.path)]
    asked = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=env)
    os.close(theirs)
    os.write(ours, b"yesterday\nMS-2026-0001\n99\n\n")
    said = b""
    while b"Mend it" not in said:
        said += os.read(ours, 4096)
    os.write(ours, b"how_many=2\n\nyes\n")
    while b"Recorded as" not in said:
        said += os.read(ours, 4096)
    assert asked.wait(timeout=30) == WELL
    os.close(ours)
    text = said.decode()
    assert "\x1b[31mrefused: too-few" in text
    assert text.count("\x1b[") == 2 * text.count("refused: ")
    assert "37 in T3" in text and "Record it (yes, no) [yes]" in text
