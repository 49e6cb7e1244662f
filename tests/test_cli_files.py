"""Files of entries: what is read, what is refused and by which line, and how lines are cut into batches."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from ledger.intake import jsonl

GOOD = {"kind": "note", "occurred": "2026-01-02", "payload": {"topic": "diet", "text": "Took the squid."}}


def _file(folder: Path, data: bytes) -> jsonl.Reading:
    path = folder / "sheet.jsonl"
    path.write_bytes(data)
    return jsonl.read(path)


def _line(**changes: object) -> bytes:
    return json.dumps({**GOOD, **changes}).encode() + b"\n"


def test_plain_lines_with_empty_ones_windows_ends_and_a_byte_order_mark(tmp_path: Path) -> None:
    data = b"\xef\xbb\xbf" + _line() + b"\r\n\n  \n" + _line().replace(b"\n", b"\r\n") + _line().rstrip()
    reading = _file(tmp_path, data)
    assert reading.findings == ()
    assert [row.line for row in reading.rows] == [1, 5, 6]
    assert all(row.entry == GOOD for row in reading.rows)


def test_characters_that_end_lines_elsewhere_do_not_end_them_here(tmp_path: Path) -> None:
    odd = {**GOOD, "payload": {"topic": "diet", "text": "one\u2028two\x85three"}}
    reading = _file(tmp_path, json.dumps(odd, ensure_ascii=False).encode() + b"\n")
    assert reading.rows[0].entry == odd


@pytest.mark.parametrize(
    ("raw", "code", "found"),
    [
        (b"not json", "not-an-entry", "not JSON at character 1"),
        (b'{"kind": "note"', "not-an-entry", "not JSON at character 16"),
        (b"[1]", "not-an-entry", "a JSON list"),
        (b"null", "not-an-entry", "a JSON null"),
        (b'{"kind": "note", "kind": "death"}', "not-an-entry", "the key `kind` twice"),
        (b'{"payload": {"a": 1, "a": 1}}', "not-an-entry", "the key `a` twice"),
        (b'{"payload": {"mass": 0.5}}', "not-an-entry", "the number 0.5"),
        (b'{"payload": {"mass": NaN}}', "not-an-entry", "the number NaN"),
        (b'{"payload": {"n": ' + b"9" * 5000 + b"}}", "not-an-entry", "the number 9999999999999999…"),
        (b'{"kind": "note\x00"}', "not-an-entry", "a NUL byte"),
        ("{'kind'}".encode("utf-16"), "not-an-entry", "a file in UTF-16 or UTF-32"),
        (b'{"kind": "caf\xe9"}', "not-an-entry", "byte 14 is not UTF-8"),
        (b'{"kind": "\\ud800"}', "not-an-entry", "half of a character pair"),
        (b"[" * 100_000, "too-large", "more than 8 levels of brackets"),
        (b'{"kind": "' + b"x" * (1 << 20) + b'"}', "too-large", "a line longer than 1024 KiB"),
        (b'{"recorded": "2024-01-01T00:00:00Z", "by": "A", "entry": {}}', "not-an-entry", "own time of recording"),
    ],
)
def test_an_odd_line_is_named_and_the_rest_is_read(tmp_path: Path, raw: bytes, code: str, found: str) -> None:
    reading = _file(tmp_path, _line() + raw + b"\n" + _line())
    (finding,) = reading.findings
    assert finding.code == code
    assert found in finding.found
    assert finding.where.endswith("sheet.jsonl, line 2")
    assert finding.way_out and finding.expected
    stops = "NUL" in found or "UTF-16" in found
    assert [row.line for row in reading.rows] == ([1] if stops else [1, 3])


def test_brackets_inside_texts_are_no_depth(tmp_path: Path) -> None:
    reading = _file(tmp_path, _line(payload={"topic": "diet", "text": '[[[[[[[[[[ \\" {{{{'}))
    assert reading.findings == ()


def test_a_very_long_line_is_not_held_in_memory(tmp_path: Path) -> None:
    reading = _file(tmp_path, b"x" * (5 << 20) + b"\n" + _line())
    assert [f.code for f in reading.findings] == ["too-large"]
    assert [row.line for row in reading.rows] == [2]


def test_a_missing_file_is_the_machines_trouble(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        jsonl.read(tmp_path / "none.jsonl")


def test_batches_keep_the_order_of_the_file(tmp_path: Path) -> None:
    data = _line() + _line() + _line(batch="a") + _line(batch="a") + _line(batch="b") + _line()
    cut, findings = jsonl.batches(_file(tmp_path, data).rows)
    assert findings == ()
    assert [[row.line for row in batch] for batch in cut] == [[1, 2], [3, 4], [5], [6]]


def test_a_mark_that_comes_back_is_a_finding(tmp_path: Path) -> None:
    _, findings = jsonl.batches(_file(tmp_path, _line(batch="a") + _line() + _line(batch="a")).rows)
    assert [(f.code, f.field) for f in findings] == [("not-an-entry", "batch")]
    assert findings[0].where.endswith("line 3")


def test_unmarked_lines_are_cut_at_a_thousand(tmp_path: Path) -> None:
    cut, _ = jsonl.batches(_file(tmp_path, _line() * 2_001).rows)
    assert [len(batch) for batch in cut] == [1000, 1000, 1]
