"""A file of entries, one JSON object a line, read strictly: what is not plain is named by its line, never guessed.

Lines end in LF or CRLF; empty lines are passed over; a UTF-8 byte order mark at the start is dropped.
Everything else that is odd (another encoding, a NUL, a key given twice, a number with a point) is a
finding that names file and line, in one sentence, with the way out. A row that was set aside (`load --set-aside`)
bears `findings` beside its entry: they are the program's own words to the person and are passed over.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

from ledger.findings import Finding

LINE_LIMIT = 1 << 20  # bytes: an event keeps to 64 KiB, but its free text is kept apart and may be longer
DEPTH_LIMIT = 8  # as deep as an event may be (envelope 6)
BATCH_CUT = 1_000  # unmarked lines are written in batches of at most so many (engine 19)

FINDINGS = "findings"  # beside an entry that was set aside: what stood against it
UNREAD = "unread"  # in place of an entry: a line set aside that could not be read

_MARKS = (b"\xff\xfe", b"\xfe\xff", b"\x00\x00\xfe\xff")  # UTF-16 and UTF-32, either way round
_ENTRY = 'an entry, such as {"kind": "death", "occurred": "2026-03-04", "payload": {…}}'


class Row(NamedTuple):
    """One entry and where it stands: `file` as it was given, `line` from 1."""

    file: str
    line: int
    entry: dict[str, Any]

    @property
    def where(self) -> str:
        """How a finding names it: `sheet.jsonl, line 3`."""
        return f"{self.file}, line {self.line}"


class Unread(NamedTuple):
    """A line that is no entry: its text, and the finding that says why."""

    text: str
    finding: Finding


class Reading(NamedTuple):
    """What a file holds, and what is wrong with it: nothing of it may land while there are findings.

    Unless they are set aside: `unread` are the lines with a finding that can be kept as text, all of them where
    `partible`.
    """

    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]
    unread: tuple[Unread, ...] = ()

    @property
    def partible(self) -> bool:
        """Every line that is no entry can be written elsewhere as it stands."""
        return len(self.unread) == len(self.findings)


class _Odd(Exception):
    """A line that is not an entry: what was `found`, the `way_out`, what was `expected`.

    `hopeless`: the file is not text at all, and every further line of it would say the same.
    """

    def __init__(
        self,
        found: str,
        way_out: str,
        expected: str = _ENTRY,
        code: str = "not-an-entry",
        hopeless: bool = False,
    ) -> None:
        super().__init__(found)
        self.found, self.way_out, self.expected, self.code = found, way_out, expected, code
        self.hopeless = hopeless


def read(path: str | Path) -> Reading:
    """All entries of a file, in order, and a finding for every line that is none.

    A file that cannot be opened raises `OSError`: that is the machine's trouble and no finding.
    """
    name = str(path)
    rows: list[Row] = []
    findings: list[Finding] = []
    unread: list[Unread] = []
    for number, raw in _raw_lines(Path(path)):
        try:
            entry = parse(raw)
        except _Odd as odd:
            findings.append(Finding(odd.code, f"{name}, line {number}", odd.found, odd.expected, odd.way_out))
            if odd.hopeless:
                break
            text = _kept(raw)
            if text:
                unread.append(Unread(text, findings[-1]))
            continue
        if entry is not None:
            rows.append(Row(name, number, entry))
    return Reading(tuple(rows), tuple(findings), tuple(unread))


def parse(raw: bytes) -> dict[str, Any] | None:
    """One line to one entry; None for an empty line. Raises for a line that is not an entry (see `read`)."""
    _plain(raw)
    try:
        text = raw.decode("utf-8").strip(" \t\r\n")
    except UnicodeDecodeError as error:
        raise _Odd(f"byte {error.start + 1} is not UTF-8", "Save the file as UTF-8.", "text in UTF-8") from error
    if not text:
        return None
    if text.count("{") + text.count("[") > DEPTH_LIMIT and _depth(text) > DEPTH_LIMIT:
        raise _Odd(f"more than {DEPTH_LIMIT} levels of brackets", "Write it flatter.", code="too-large")
    try:
        value = json.loads(
            text, object_pairs_hook=_once, parse_float=_no_float, parse_constant=_no_float, parse_int=_whole
        )
    except json.JSONDecodeError as error:
        raise _Odd(
            f"not JSON at character {error.pos + 1} ({error.msg[:1].lower()}{error.msg[1:]})",
            "Mend the line; each entry is one line.",
        ) from error
    if not isinstance(value, dict):
        raise _Odd(f"a JSON {_sort(value)}", "Write each entry as one object on one line.")
    if UNREAD in value:
        raise _Odd("a line set aside that could not be read", f"Write the entry anew in place of `{UNREAD}`.")
    if {"recorded", "by", "entry"} <= value.keys():
        raise _Odd(
            "a line with its own time of recording",
            "Only the demo reads such files; a real book takes its recording times from the clock.",
        )
    if "\\u" in text and any("\ud800" <= char <= "\udfff" for char in _texts(value)):
        raise _Odd("half of a character pair (\\ud800 to \\udfff)", "Write the character itself.", "whole characters")
    if isinstance(value.get(FINDINGS), list):
        del value[FINDINGS]
    return value


def batches(rows: tuple[Row, ...]) -> tuple[tuple[tuple[Row, ...], ...], tuple[Finding, ...]]:
    """Rows in file order, cut into what is written at once.

    Rows that stand together under one `batch` mark are one atomic batch; rows without a mark are cut at
    `BATCH_CUT`. A mark that comes back after other lines is a finding: order would have to be changed.
    """
    out: list[list[Row]] = []
    findings: list[Finding] = []
    seen: set[str] = set()
    last: tuple[str, str] | None = None
    for row in rows:
        mark = row.entry.get("batch")
        key = None if mark is None else (row.file, json.dumps(mark, sort_keys=True))
        fresh = not out or key != last or (key is None and len(out[-1]) >= BATCH_CUT)
        if fresh and key is not None and repr(key) in seen:
            findings.append(
                Finding(
                    "not-an-entry",
                    row.where,
                    f"the batch {key[1]} begins again",
                    "the lines of one batch together",
                    "Put them next to each other, or give the later ones another mark.",
                    field="batch",
                )
            )
        if fresh:
            out.append([])
            seen.add(repr(key))
        out[-1].append(row)
        last = key
    return tuple(tuple(batch) for batch in out), tuple(findings)


# --- parts -------------------------------------------------------------------------------------


def _kept(raw: bytes) -> str:
    """A line's text, as it can be written elsewhere; empty where it is no text, or longer than a line may be."""
    if len(raw.rstrip(b"\r\n")) > LINE_LIMIT // 2:  # as JSON text it may need twice the room
        return ""
    try:
        text = raw.decode("utf-8").strip(" \t\r\n")
    except UnicodeDecodeError:
        return ""
    if text.startswith(f'{{"{UNREAD}"'):  # set aside before: what was in it, not a line in a line
        try:
            return str(json.loads(text)[UNREAD])
        except (ValueError, KeyError, RecursionError):
            return text
    return text


def _raw_lines(path: Path) -> Iterator[tuple[int, bytes]]:
    """Lines by number, without the end; one too long is cut just past the limit, so memory is bounded."""
    with path.open("rb") as stream:
        number = 0
        while raw := stream.readline(LINE_LIMIT + 2):
            number += 1
            while not raw.endswith(b"\n") and len(raw) > LINE_LIMIT and (rest := stream.readline(LINE_LIMIT)):
                if rest.endswith(b"\n"):
                    break
            yield number, raw.removeprefix(b"\xef\xbb\xbf") if number == 1 else raw


def _plain(raw: bytes) -> None:
    if raw.startswith(_MARKS):
        raise _Odd("a file in UTF-16 or UTF-32", "Save the file as UTF-8.", "text in UTF-8", hopeless=True)
    if b"\x00" in raw:
        raise _Odd(
            "a NUL byte", "Save the file as plain text in UTF-8; it may be damaged.", "plain text", hopeless=True
        )
    if len(raw.rstrip(b"\r\n")) > LINE_LIMIT:
        raise _Odd(f"a line longer than {LINE_LIMIT // 1024} KiB", "One entry a line; shorten it.", code="too-large")


def _depth(text: str) -> int:
    """Deepest nesting of brackets outside of strings, by characters: no recursion that could run out."""
    deepest = depth = 0
    quoted = skip = False
    for char in text:
        if skip:
            skip = False
        elif quoted:
            skip, quoted = char == "\\", char != '"'
        elif char == '"':
            quoted = True
        elif char in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif char in "]}":
            depth -= 1
    return deepest


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, value in pairs:
        if key in out:
            raise _Odd(f"the key `{key}` twice", "Leave one of the two.", "every key once")
        out[key] = value
    return out


def _no_float(text: str) -> NoReturn:
    raise _Odd(f"the number {text[:20]}", 'Write a measure as text, such as "0.5", and numbers whole.', "whole numbers")


def _whole(text: str) -> int:
    if len(text) > 16:
        raise _Odd(f"the number {text[:16]}…", "Numbers go to 1,000,000,000.", "a smaller number")
    return int(text)


def _sort(value: object) -> str:
    names = {list: "list", str: "text", int: "number", bool: "true or false", type(None): "null"}
    return names.get(type(value), "value")


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield from value
    elif isinstance(value, dict):
        for key, part in value.items():
            yield from key
            yield from _texts(part)
    elif isinstance(value, list):
        for part in value:
            yield from _texts(part)
