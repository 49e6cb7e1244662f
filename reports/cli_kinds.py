"""`kinds` and `schema`: what can be recorded, and in which fields."""

from __future__ import annotations

import json
import sys
import textwrap

from ledger.kinds import KINDS, Kind, nearest
from reports import cli_say as out
from reports.cli_ask import choices
from reports.cli_guard import Stop
from reports.cli_words import COUNT_FIELDS

_COLUMNS = [out.Column("kind", "kind"), out.Column("what", "what it says"), out.Column("needs", "needs", drop=1)]
_FORMS = {
    **dict.fromkeys(COUNT_FIELDS, "5 (sexes not told), 2.3.1 (males.females.unknown), or 2.3.1+4h"),
    **dict.fromkeys(("sex", "sex_found", "was"), "m, f, h or u"),
    **dict.fromkeys(("born", "arrived", "hatched_on"), "a date as known: 2025-03-04, 2025-03, 2019~"),
}


def kinds(kind: str | None) -> None:
    """`tidemark kinds`."""
    if kind is not None:
        return _one(_found(kind))
    rows = [
        {"kind": k.NAME, "what": k.story()[""].splitlines()[0], "needs": ", ".join(_needs(k))} for k in KINDS.values()
    ]
    out.table(rows, _COLUMNS)
    out.say()
    out.say("Next: tidemark kinds death")
    return None


def schema(kind: str) -> None:
    """`tidemark schema`."""
    sys.stdout.write(json.dumps(_found(kind).schema(), indent=2, ensure_ascii=False) + "\n")


def _found(name: str) -> Kind:
    word = name.replace("-", "_")
    if word not in KINDS:
        near = nearest(word)
        raise Stop(f"There is no kind “{name}”{f'; {near} is near' if near else ''}. `tidemark kinds` lists them.")
    return KINDS[word]


def _needs(kind: Kind) -> list[str]:
    """What an entry of the kind cannot do without: one of its subjects, and the needed fields."""
    needed = [field for field in _needed(kind) if field not in kind.subject_fields]
    return [" or ".join(kind.subject_fields), *needed] if kind.subject_fields else needed


def _needed(kind: Kind) -> list[str]:
    model = kind.Payload.model_fields
    return [info.alias or name for name, info in model.items() if info.is_required()]


def _one(kind: Kind) -> None:
    for heading, text in kind.story().items():
        if heading:
            out.say(heading)
        for line in text.splitlines():
            out.say(f"    {line}" if heading else line)
        out.say()
    needed = _needed(kind)
    fields = [info.alias or name for name, info in kind.Payload.model_fields.items()]
    wide = max(map(len, fields)) + 2
    for field in fields:
        what = "; ".join(word for word in ("needed" if field in needed else "", _takes(kind, field)) if word)
        room = max(40, min(out.width(), 100) - wide)
        first, *more = textwrap.wrap(what, room) or [""]
        out.say(f"{field:{wide}}{first}".rstrip())
        for line in more:
            out.say(" " * wide + line)
    out.say()
    out.say("Beside them: occurred, observed_by, source, event_id.")


def _takes(kind: Kind, field: str) -> str:
    words = choices(kind.NAME, field)
    if words and field not in kind.names:
        return ", ".join(words)
    if field in kind.names:
        named = kind.names[field]
        new = {"must": "a new ", "may": "perhaps a new ", "outside": "a new "}.get(named.new, "")
        return f"{new}{' or '.join(named.sorts)}{', or ' + ', '.join(words) if words else ''}"
    return "text, kept apart" if field in kind.texts else _FORMS.get(field, "")
