"""Writes `ledger/checks/README.md` from the checks themselves: `python -m ledger.checks.page`."""

from __future__ import annotations

from pathlib import Path

from ledger.checks import CHECKS, modules
from ledger.findings import CODES, Code

PAGE = Path(__file__).with_name("README.md")

_TOP = """\
# Checks and findings

Generated from the docstrings beside this page and from `ledger/findings.py` (`python -m ledger.checks.page`); a test
keeps it fresh.

A finding says where, what was found, what was expected, and the way out. *Refused* and *conflict* keep a batch out,
whatever one accepts. A *warning* is accepted once, with a reason, kept in the event, and not asked again. Codes are
numbered once and never reused. Checks are asked only of a batch that the fold has nothing against.
"""


def page() -> str:
    """The whole page."""
    parts = [_TOP, "## Checks across events", ""]
    asks = {code: name for name, module in zip(CHECKS, modules(), strict=True) for code in module.CODES}
    for name, module in zip(CHECKS, modules(), strict=True):
        head, _, body = (module.__doc__ or "").strip().partition("\n\n")
        parts += [f"### {name}", "", f"**{' '.join(head.split())}**", "", *_paragraphs(body)]
        parts += ["Codes: " + ", ".join(f"`{code}`" for code in module.CODES) + ".", ""]
    parts += ["## All codes", "", "| no. | code | weight | meaning | asked by |", "|---|---|---|---|---|"]
    parts += [_row(code, asks.get(code.name, "")) for code in sorted(CODES)]
    return "\n".join(parts) + "\n"


def _paragraphs(body: str) -> list[str]:
    out: list[str] = []
    for paragraph in body.split("\n\n"):
        text = " ".join(paragraph.split())
        text, mark, source = text.partition("Source: ")
        out += [text.strip(), ""] if text.strip() else []
        out += [f"*Source.* {source[:1].upper()}{source[1:]}", ""] if mark else []
    return out


def _row(code: Code, check: str) -> str:
    asked = f"[{check}](#{check})" if check else "the entry" if code.number < 50 else "the fold"
    return f"| {code.number} | `{code.name}` | {code.weight} | {code.meaning} | {asked} |"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
