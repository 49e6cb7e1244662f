"""Frames to HTML tables: everything escaped, zeros empty, groups under quiet bands, counts in m.f.u."""

from __future__ import annotations

import html
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

MINUS: Final = "−"
_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def shown(value: object) -> str:
    """Text as it may stand in a page: escaped, with control and direction characters written out, not acting."""
    text = "".join(_plain(c) for c in str(value))
    return html.escape(text)


def _plain(char: str) -> str:
    if unicodedata.category(char) in ("Cc", "Cf", "Cs", "Zl", "Zp") and char not in "\u200c\u200d":
        return f"\\u{ord(char):04x}"
    return char


def number(n: int | None, *, sign: bool = False) -> str:
    """`1,911`, `−17`, with `sign` also `+388`; a zero is empty, None is *not known*."""
    if n is None:
        return "not known"
    if not n:
        return ""
    return f"{'+' if sign and n > 0 else MINUS if n < 0 else ''}{abs(n):,}"


def counted(n: int, low: int | None, high: int | None) -> str:
    """A figure with its range: `14 (13 to 15)`; the figure alone where there is no doubt."""
    if low is None or high is None:
        return f"{n:,} (range not known)"
    return f"{n:,}" if low == high == n else f"{n:,} ({low:,} to {high:,})"


def mfu(m: int, f: int, u: int, h: int = 0) -> str:
    """`2.3.1`, `5.4.−9`, `2.3.1 + 4 h`; nothing at all is empty."""
    if not (m or f or u or h):
        return ""
    text = f"{m}.{f}.{u}" + (f" + {h} h" if h > 0 else f" {h} h" if h else "")
    return text.replace("-", MINUS)


def short(day: date) -> str:
    """`4 Mar`."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


class Col(NamedTuple):
    """A column: its heading, what stands in a row (plain text, escaped later), and how."""

    title: str
    cell: Callable[[Mapping[str, Any]], str]
    text: bool = False  # left-aligned words; else figures
    strong: bool = False
    whole: bool = False  # words that do not break
    under: Callable[[Mapping[str, Any]], str] | None = None  # a second, quieter line
    italic: bool = False


def field(key: str) -> Callable[[Mapping[str, Any]], str]:
    """The cell of a text column."""
    return lambda row: str(row[key])


def figure(key: str, *, sign: bool = False) -> Callable[[Mapping[str, Any]], str]:
    """The cell of a column of numbers."""
    return lambda row: number(row[key], sign=sign)


TAXON: Final = Col("Taxon", field("taxon"), text=True, under=field("common_name"), italic=True)


def table(
    rows: Iterable[Mapping[str, Any]],
    columns: Sequence[Col],
    caption: str,
    band: Callable[[Mapping[str, Any]], str] | None = None,
    kind: str = "",
) -> str:
    """An HTML table. `band`: the words over a group of rows, shown where they change. Empty columns of figures go."""
    found = list(rows)
    columns = [c for c in columns if c.text or c.strong or any(c.cell(row) for row in found)]
    heads = "".join(f'<th scope="col"{_class(c)}>{shown(c.title)}</th>' for c in columns)
    body, group = [], None
    for row in found:
        if band is not None and (words := band(row)) != group:
            group = words
            body.append(
                f'<tr class="g"><th colspan="{len(columns)}" scope="colgroup" class="l">{shown(words)}</th></tr>'
            )
        body.append("<tr>" + "".join(_cell(c, row) for c in columns) + "</tr>")
    style = f' class="{kind}"' if kind else ""
    words = shown(caption)
    return (
        f'<div class="wide" role="region" tabindex="0" aria-label="{words}"><table{style}><caption>{words}</caption>'
        f"<thead><tr>{heads}</tr></thead><tbody>{''.join(body)}</tbody></table></div>"
    )


def _class(column: Col) -> str:
    names = [n for n, on in (("l", column.text), ("b", column.strong), ("w", column.whole)) if on]
    return f' class="{" ".join(names)}"' if names else ""


def _cell(column: Col, row: Mapping[str, Any]) -> str:
    words = shown(column.cell(row))
    if column.italic:
        words = f"<i>{words}</i>"
    if column.under is not None and (quiet := column.under(row)):
        words += f"<span>{shown(quiet)}</span>"
    return f"<td{_class(column)}>{words}</td>"
