"""How the command speaks: nothing from data acts, tables fit, findings come in groups."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from ledger.findings import Finding
from reports import cli_say as say

EVIL = "\x1b[31mred\x1b[0m \u202eleft [bold]b[/] \u200bnone \x9b1m \x7f é 水"
COLUMNS = [
    say.Column("taxon", "taxon"),
    say.Column("place", "where", drop=2),
    say.Column("born", "born", right=True, drop=1),
    say.Column("n", "animals", right=True),
]


def _page(**changes: Any) -> say.Page:
    rows = [{"taxon": EVIL, "place": "=1+1", "born": None, "n": Decimal(3), "day": date(2026, 1, 2)}]
    about = {"on": "2026-01-02", "known_at": "2026-01-03T00:00:00Z", "position": 5, "head": "ab", "basis": "held"}
    return say.Page(
        "Marrow · census", about, list(rows[0]), rows, rows, COLUMNS, "Adds up.", "tidemark year 2025"
    )._replace(**changes)


def test_control_and_direction_characters_are_shown() -> None:
    assert say.safe(EVIL) == "\\x1b[31mred\\x1b[0m \\u202eleft [bold]b[/] \\u200bnone \\x9b1m \\x7f é 水"
    assert say.safe(say.safe(EVIL)) == say.safe(EVIL)
    assert say.safe("\ud800\U000e0041") == "\\ud800\\U000e0041"
    assert say.safe("می\u200cخواهم") == "می\u200cخواهم"


def test_json_is_one_object_exact_and_harmless(capsys: pytest.CaptureFixture[str]) -> None:
    say.show(_page(), "json")
    out, err = capsys.readouterr()
    assert err == ""
    value = json.loads(out)
    assert list(value) == ["on", "known_at", "position", "head", "basis", "rows"]
    assert value["rows"] == [{"taxon": EVIL, "place": "=1+1", "born": None, "n": 3, "day": "2026-01-02"}]
    assert not set(out) & set("\x1b\u202e\u200b\x9b\x7f")
    assert "水" in out


def test_csv_holds_no_formula_and_only_rows(capsys: pytest.CaptureFixture[str]) -> None:
    say.show(_page(), "csv")
    out, err = capsys.readouterr()
    (row,) = csv.DictReader(io.StringIO(out))
    assert row["place"] == "'=1+1"
    assert (row["n"], row["born"], row["day"]) == ("3", "", "2026-01-02")
    assert "\x1b" not in out
    assert err == "Marrow · census\n"


def test_a_table_says_head_figures_sum_and_what_next(capsys: pytest.CaptureFixture[str]) -> None:
    say.show(_page(lines=[{"taxon": "Hippocampus erectus", "place": "", "born": 0, "n": 12}]), "table")
    out, _ = capsys.readouterr()
    assert out.splitlines() == [
        "Marrow · census",
        "",
        "taxon                animals",
        "───────────────────  ───────",
        "Hippocampus erectus       12",
        "",
        "Adds up.",
        "Next: tidemark year 2025",
    ]


def test_nothing_is_said_in_a_word(capsys: pytest.CaptureFixture[str]) -> None:
    say.show(_page(lines=[], sums="", after=""), "table")
    assert capsys.readouterr().out.splitlines() == ["Marrow · census", "", "Nothing."]


@pytest.mark.parametrize(
    ("columns", "shown", "gone"),
    [
        (60, "taxon  where  born  animals", ""),
        (40, "taxon  born  animals", "where"),
        (30, "taxon  animals", "born, where"),
    ],
)
def test_a_narrow_terminal_loses_columns_in_a_stated_order(
    columns: int, shown: str, gone: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(say, "width", lambda _=None: columns)
    line = {"taxon": "Hippocampus erectus", "place": "in the hospital", "born": 4, "n": 12}
    say.table([line], COLUMNS)
    out = capsys.readouterr().out.splitlines()
    assert out[0].split() == shown.split()
    assert all(len(row) <= columns for row in out[:3])
    told = " ".join(out[3:])
    assert told == (f"Not shown for want of width: {gone}." if gone else "")


def test_text_is_cut_where_no_column_may_go(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(say, "width", lambda _=None: 24)
    say.table([{"taxon": "水" * 30, "n": 1}], [COLUMNS[0], COLUMNS[3]])
    row = capsys.readouterr().out.splitlines()[2]
    assert "…" in row and row.endswith("1")


def test_findings_in_groups(capsys: pytest.CaptureFixture[str]) -> None:
    gone = [
        Finding("not-there", f"line {i}", f"it died on 2026-01-{i:02} (#9)", "an animal that is there", "Mend the day.")
        for i in range(1, 15)
    ]
    late = Finding("late", "line 3", "90 days", "entries within 30 days", "Say why.")
    say.findings([late, *gone])
    _, err = capsys.readouterr()
    lines = err.splitlines()
    assert lines[0] == "refused: not-there · the subject is not there on that day (14 times)"
    assert lines[1:3] == ["  line 1", "    found     it died on 2026-01-01 (#9)"]
    assert "  … and 2 more" in lines
    assert lines.count("    way out   Mend the day.") == 1
    assert lines[-5:] == [
        "warning: late · recorded many days after it occurred",
        "  line 3",
        "    found     90 days",
        "    expected  entries within 30 days",
        "    way out   Say why.",
    ]
    assert "\x1b" not in err


def test_findings_that_say_the_same_are_said_once(capsys: pytest.CaptureFixture[str]) -> None:
    unknown = [
        Finding("unknown-name", f"entry {i}", f"no taxon '{name}'", "a taxon of the book", f"Enter {name} first.")
        for name in ("Aa", "Bb")
        for i in (1, 2, 3)
    ]
    say.findings(unknown, err=False)
    assert capsys.readouterr().out.splitlines() == [
        "refused: unknown-name · nothing of that name is in the book (6 times)",
        "  entry 1, and 2 more",
        "    found     no taxon 'Aa'",
        "    expected  a taxon of the book",
        "    way out   Enter Aa first.",
        "  entry 1, and 2 more",
        "    found     no taxon 'Bb'",
        "    expected  a taxon of the book",
        "    way out   Enter Bb first.",
    ]


def test_at_a_terminal_lines_break_at_words(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(say, "width", lambda _=None: 30)
    say.say("    found     a long story told in rather too many words", hang=10)
    assert capsys.readouterr().out.splitlines() == [
        "    found     a long story",
        "              told in rather",
        "              too many words",
    ]


def test_a_shorter_table_where_the_whole_one_does_not_fit(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(say, "width", lambda _=None: 34)
    line = {"taxon": "Sepia officinalis", "born": 4, "came": 9, "n": 12}
    whole = [COLUMNS[0], say.Column("born", "hatched and born", right=True), COLUMNS[3]]
    say.table([line], whole, [COLUMNS[0], say.Column("came", "in", right=True), COLUMNS[3]])
    out = capsys.readouterr().out.splitlines()
    assert out[0].split() == ["taxon", "in", "animals"]
    assert " ".join(out[3:]).startswith("Summed for want of width; a terminal 44 wide")
