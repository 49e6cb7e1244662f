"""Writes `ledger/kinds/README.md` from the kinds themselves: `python -m ledger.kinds.page`."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from ledger.kinds import KINDS
from ledger.kinds._kind import HEADINGS, Kind

_TOP = """\
# Kinds of event

Generated from the docstrings and models beside this page (`python -m ledger.kinds.page`); a test keeps it fresh.
A payload is shown as people type it: names as numbers, codes or names; **needed** fields in bold. How many is
males.females.unknown, as in `2.3.1`, or a number where the sexes are not known. What the book fills in may be
left out. Fields that a later version takes are refused by name, with the way out.
"""


def page() -> str:
    """The whole page."""
    parts = [_TOP, _contents()]
    parts += [_section(kind) for kind in KINDS.values()]
    return "\n".join(parts)


def _contents() -> str:
    rows = [f"| [{k.NAME}](#{k.NAME}) | {k.story()['']} |" for k in KINDS.values()]
    return "\n".join(["| kind | |", "|---|---|", *rows, ""])


def _section(kind: Kind) -> str:
    story = kind.story()
    out = [f"## {kind.NAME}", "", story[""], ""]
    for heading in HEADINGS[:-1]:
        out += [f"*{heading}.* {' '.join(story[heading].split())}", ""]
    out += ["*Example*", "", "```json", _one_line(story["Example"]), "```", ""]
    out += _fields(kind)
    day = "one day, not a range" if kind.ONE_DAY else "a day or a range of days"
    out += [f"Version {kind.VERSION}; `occurred` is {day}.", ""]
    return "\n".join(out)


def _one_line(example: str) -> str:
    return json.dumps(json.loads(example), ensure_ascii=False)


def _fields(kind: Kind) -> list[str]:
    schema = kind.schema()
    needed = schema.get("required", [])
    out = ["| field | takes |", "|---|---|"]
    for name, form in schema.get("properties", {}).items():
        mark = f"**{name}**" if name in needed else name
        out.append(f"| {mark} | {_takes(kind, name, form)}{_parts(form, schema.get('$defs', {}))} |")
    if kind.LATER:
        out += ["", "Later: " + ", ".join(f"`{name}`" for name in kind.LATER) + "."]
    return [*out, ""]


def _parts(form: dict[str, Any], models: dict[str, Any]) -> str:
    """The fields of what a list holds, where those are parts of their own; needed ones in bold."""
    lists = [f for f in (form, *form.get("anyOf", [])) if f.get("type") == "array"]
    made_of = [models.get(str(f["items"].get("$ref", "")).rsplit("/", 1)[-1], {}) for f in lists]
    for model in made_of:
        needed = model.get("required", [])
        fields = [f"**{name}**" if name in needed else name for name in model.get("properties", {})]
        if fields:
            return f": {', '.join(fields)}"
    return ""


def _takes(kind: Kind, name: str, form: dict[str, Any]) -> str:
    if name in kind.names:
        mark = kind.names[name]
        new = {
            "must": ", a new one",
            "may": ", standing or new",
            "outside": ", a new one or one known from outside",
            "plain": " of the register, or its number",
        }.get(mark.new, "")
        words = [w for f in form.get("anyOf", []) for w in f.get("enum", [])]
        several = "array" in [f.get("type") for f in (form, *form.get("anyOf", []))]
        return ("one or several: " if several else "") + " or ".join([*mark.sorts, *words]) + new
    if name in kind.texts:
        return "free text"
    return _form(form)


def _form(form: dict[str, Any]) -> str:
    if "anyOf" in form:
        return " or ".join(_form(f) for f in form["anyOf"] if f.get("type") != "null")
    if "enum" in form:
        return ", ".join(f"`{word}`" for word in form["enum"])
    if "const" in form:
        return f"`{form['const']}`"
    if "$ref" in form:
        made_of = str(form["$ref"]).rsplit("/", 1)[-1]
        said = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", made_of).lower()
        return {"HowMany": "how many", "Ref": "a name", "Text": "free text"}.get(made_of, said)
    if form.get("type") == "array":
        return f"list of {_form(form['items'])}"
    if form.get("type") == "object":
        return "code by code"
    return {"string": "text", "integer": "whole number", "boolean": "yes or no"}.get(form.get("type", ""), "text")


def write(target: Path | None = None) -> Path:
    """Write the page beside the kinds, or to `target`. Returns where."""
    path = target or Path(__file__).with_name("README.md")
    path.write_text(page(), encoding="utf-8")
    return path


if __name__ == "__main__":
    write()
