"""The page that reports are handed over in: one self-contained HTML text, no address in it, ready to print."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from string import Template
from typing import Final

from ledger import VERSION
from reports import theme
from reports.tables import shown

_HERE: Final = Path(__file__).parent
_BELOW: Final = "/* above: the printed sheet; below: all that stands on it */"


@dataclass(frozen=True)
class Part:
    """A piece of a page: HTML, safe to stand in it. Shows itself in a notebook, in the look of `look()`."""

    html: str

    def _repr_html_(self) -> str:
        return f'<div class="tidemark">{self.html}</div>'


def look() -> Part:
    """The style sheet for parts shown in a notebook: it reaches them and nothing else of the notebook's page."""
    sheet = _sheet().partition(_BELOW)[2]
    paper = f"background: #fff; color: {theme.INK}; font: 14px/1.5 {theme.SANS}; max-width: 820px; padding: 0 12px;"
    return Part(f"<style>.tidemark {{ {paper} {sheet} }}</style>")


def section(title: str, *inner: str, kind: str = "") -> Part:
    """A part under a heading; `kind` new: on a new sheet, keep: all on one."""
    style = f' class="{kind}"' if kind else ""
    return Part(f"<section{style}><h2>{shown(title)}</h2>{''.join(inner)}</section>")


def paragraph(text: str, kind: str = "") -> str:
    """Plain text as a paragraph."""
    style = f' class="{kind}"' if kind else ""
    return f"<p{style}>{shown(text)}</p>"


def style(foot: str) -> str:
    """The style sheet; `foot` is said at the foot of every printed page but the first."""
    return Template(_sheet()).substitute(foot=css_text(foot))


def _sheet() -> str:
    return (_HERE / "page.css").read_text(encoding="utf-8")


def css_text(text: str) -> str:
    """Text as it may stand in a CSS string inside a page: all but letters, digits and spaces by number.

    The space after a number ends it and is not shown.
    """
    return "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in text)


def page(title: str, foot: str, parts: list[Part]) -> str:
    """The whole page."""
    template = Template((_HERE / "page.html").read_text(encoding="utf-8"))
    return template.substitute(
        title=shown(title),
        made_by=shown(f"Tidemark {VERSION}"),
        css=style(foot),
        body="\n".join(part.html for part in parts),
    )
