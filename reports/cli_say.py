r"""How the command speaks: text made safe, one head line, a table that fits, findings in groups, JSON and CSV.

Nothing that comes out of a book acts on a terminal or in a spreadsheet: markup is never read, control
and direction characters are shown as `\\u202e` and the like, a CSV cell that a spreadsheet would take
for a formula gets an apostrophe before it.
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple, TextIO

from ledger.findings import BY_NAME, Finding

JOINERS = "\u200c\u200d"  # several scripts cannot be written without these two
GAP = "  "
SHOWN = 12  # findings of one code in full; the rest are counted
NARROWEST = 12  # a text column is not cut below so many characters
ENDLESS = 100_000  # columns of a pipe or a file
FORMATS = ("table", "csv", "json")
Cells = Sequence[str]


class Column(NamedTuple):
    """A column of a table: `right` for numbers; the highest `drop` goes first where the terminal is narrow, 0 stays.

    A column with nothing in it is left out, but for those that are to be there `always`.
    """

    key: str
    title: str
    right: bool = False
    drop: int = 0
    always: bool = False


class Page(NamedTuple):
    """What a reading command answers. `about` are the JSON keys before `rows`, in their order."""

    head: str
    about: dict[str, Any]
    fields: list[str]  # the frame's columns
    rows: list[dict[str, Any]]  # the frame's rows, whole
    lines: list[dict[str, Any]]  # the same, as a person reads them in the table
    columns: list[Column]
    sums: str = ""  # one line: does it add up
    after: str = ""  # at most one: what to try next
    narrow: Sequence[Column] = ()  # a shorter table, whole in itself, where the other does not fit


def safe(text: object) -> str:
    """Text as it may be sent to a terminal: control, direction and invisible characters as escapes."""
    value = str(text)
    if value.isascii() and value.isprintable():
        return value
    return "".join(_shown(char) for char in value)


def _shown(char: str) -> str:
    sort = unicodedata.category(char)
    if sort in ("Cc", "Cs", "Zl", "Zp", "Cn", "Co") or (sort == "Cf" and char not in JOINERS):
        point = ord(char)
        return f"\\x{point:02x}" if point < 0x100 else f"\\u{point:04x}" if point < 0x10000 else f"\\U{point:08x}"
    return char


def say(text: str = "", *, err: bool = False, style: str = "", hang: int = 0) -> None:
    """One line out, safe, at a terminal broken at words with further lines `hang` to the right.

    `style` is a colour for findings, sent only to a terminal that takes it.
    """
    stream = sys.stderr if err else sys.stdout
    room = width(stream)
    line = safe(text)
    lines = [line]
    if len(line) > room > hang + NARROWEST:
        lead = line[: len(line) - len(line.lstrip())]
        lines = textwrap.wrap(
            line.lstrip(), room, initial_indent=lead, subsequent_indent=lead + " " * hang,
            break_long_words=False, break_on_hyphens=False,
        )  # fmt: skip
    for part in lines:
        stream.write(f"\x1b[{style}m{part}\x1b[0m\n" if style and _colours(stream) else part + "\n")


def _colours(stream: TextIO) -> bool:
    return stream.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM", "") != "dumb"


def width(stream: TextIO | None = None) -> int:
    """Columns of the terminal; where there is none, as many as the table wants."""
    out = stream or sys.stdout
    return shutil.get_terminal_size().columns if out.isatty() else ENDLESS


# --- pages ------------------------------------------------------------------------------------


def show(page: Page, form: str) -> None:
    """A page in one of `FORMATS` on standard output; head and notes of a CSV go to standard error."""
    if form == "json":
        return _json({**page.about, "rows": page.rows})
    if form == "csv":
        say(page.head, err=True)
        return _csv(page.rows, page.fields)
    say(page.head)
    say()
    if page.lines:
        table(page.lines, page.columns, page.narrow)
    else:
        say("Nothing.")
    if page.sums:
        say()
        say(page.sums)
    if page.after:
        say(f"Next: {page.after}")
    return None


def _json(value: Mapping[str, Any]) -> None:
    plain = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"
    text = json.dumps(value, ensure_ascii=plain, indent=1, default=_as_json)
    # inside JSON a control or direction character may always be written as an escape
    sys.stdout.write(re.sub(r"[^\n\x20-\x7e]", _escaped, text) + "\n")


def _escaped(found: re.Match[str]) -> str:
    char = found[0]
    if _shown(char) == char:
        return char
    units = char.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2))


def _as_json(value: Any) -> Any:
    from decimal import Decimal

    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else str(value)
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def _csv(rows: Iterable[Mapping[str, Any]], fields: Sequence[str]) -> None:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(fields)
    for row in rows:
        writer.writerow([_cell(row[field]) for field in fields])
    sys.stdout.write(text.getvalue())


def _cell(value: Any) -> str:
    if value is None:
        return ""
    text = safe(value if not hasattr(value, "isoformat") else value.isoformat())
    acts = isinstance(value, str) and text[:1] in tuple("=+-@")
    return "'" + text if acts else text


# --- tables -----------------------------------------------------------------------------------


def table(lines: Sequence[Mapping[str, Any]], columns: Sequence[Column], narrow: Sequence[Column] = ()) -> None:
    """Lines under titles. A zero is an empty cell; columns with nothing in them are left out.

    A terminal that is too narrow loses columns by their `drop`, highest first, and is told which; where there
    are `narrow` columns and words alone are not enough to drop, it gets those instead. What is still too wide is
    cut in its widest text column.
    """
    from rich.cells import cell_len

    every = [c for c in {c.key: c for c in (*columns, *narrow)}.values() if c.always or _said(lines, c)]
    cells = {c.key: [c.title, *(_text(line.get(c.key)) for line in lines)] for c in every}
    wide = {key: max(map(cell_len, column)) for key, column in cells.items()}
    used, room, gone = [c for c in columns if c in every], width(), list[str]()
    full = _total(used, wide)
    words = [c for c in used if c.right or not c.drop]
    summed = bool(narrow) and _total(words, wide) > room
    if summed:
        used = [c for c in narrow if c in every]
    while _total(used, wide) > room and any(c.drop for c in used):
        last = max((c for c in used if c.drop), key=lambda c: c.drop)
        used.remove(last)
        gone.append(last.title)
    while _total(used, wide) > room:
        widest = max((c.key for c in used if not c.right), key=lambda key: wide[key], default="")
        if not widest or wide[widest] <= NARROWEST:
            break
        wide[widest] = max(NARROWEST, wide[widest] - (_total(used, wide) - room))
    for row in range(len(lines) + 1):
        line = GAP.join(_padded(cells[c.key][row], wide[c.key], right=c.right) for c in used).rstrip()
        sys.stdout.write(line + "\n")
        if row == 0:
            sys.stdout.write(GAP.join("─" * wide[c.key] for c in used) + "\n")
    if summed:
        say(f"Summed for want of width; a terminal {full} wide shows every column, and so does --format csv.")
    if gone:
        say(f"Not shown for want of width: {', '.join(reversed(gone))}.")


def _said(lines: Sequence[Mapping[str, Any]], column: Column) -> bool:
    return any(line.get(column.key) not in (None, "", 0) for line in lines)


def _text(value: Any) -> str:
    if isinstance(value, int) and not isinstance(value, bool):
        return f"{value:,}".replace("-", "−") if value else ""
    return "" if value is None else safe(value)


def _total(columns: Sequence[Column], wide: Mapping[str, int]) -> int:
    return sum(wide[c.key] for c in columns) + len(GAP) * max(0, len(columns) - 1)


def _padded(text: str, size: int, *, right: bool) -> str:
    from rich.cells import cell_len, set_cell_size

    if cell_len(text) > size:
        text = set_cell_size(text, size - 1).rstrip() + "…"
    space = " " * (size - cell_len(text))
    return space + text if right else text + space


# --- findings ---------------------------------------------------------------------------------

_STYLE = {"refused": "31", "conflict": "31", "warning": "33"}


def findings(found: Sequence[Finding], *, err: bool = True) -> None:
    """Findings in groups by code, heaviest first: where, what was found, what was expected, the way out."""
    groups: dict[str, list[Finding]] = {}
    for finding in found:
        groups.setdefault(finding.code, []).append(finding)
    order = {"conflict": 0, "refused": 1, "warning": 2}
    for code in sorted(groups, key=lambda name: (order[BY_NAME[name].weight], BY_NAME[name].number)):
        group = groups[code]
        known = BY_NAME[code]
        times = f" ({len(group)} times)" if len(group) > 1 else ""
        say(f"{known.weight}: {code} · {known.meaning}{times}", err=err, style=_STYLE[known.weight])
        alike: dict[tuple[str, str, str], list[str]] = {}
        for finding in group:
            alike.setdefault((finding.found, finding.expected, finding.way_out), []).append(finding.where)
        _group(alike, err=err)


def _group(alike: Mapping[tuple[str, str, str], list[str]], *, err: bool) -> None:
    """Findings of one code: those that say the same once, what all expect once at the end."""
    shared = len({(expected, way_out) for _, expected, way_out in alike}) == 1
    for number, ((found, expected, way_out), wheres) in enumerate(alike.items()):
        if number == SHOWN:
            say(f"  … and {sum(map(len, alike.values())) - _shown_of(alike)} more", err=err)
            break
        more = f", and {len(wheres) - 1} more" if len(wheres) > 1 else ""
        say(f"  {wheres[0]}{more}", err=err, hang=2)
        say(f"    found     {found}", err=err, hang=10)
        if not shared:
            _ways(expected, way_out, err=err)
    if shared:
        _, expected, way_out = next(iter(alike))
        _ways(expected, way_out, err=err)


def _shown_of(alike: Mapping[tuple[str, str, str], list[str]]) -> int:
    return sum(len(wheres) for wheres in list(alike.values())[:SHOWN])


def _ways(expected: str, way_out: str, *, err: bool) -> None:
    say(f"    expected  {expected}", err=err, hang=10)
    if way_out:
        say(f"    way out   {way_out}", err=err, hang=10)
