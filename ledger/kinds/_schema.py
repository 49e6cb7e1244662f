"""JSON Schema of a payload as people type it: names, texts and numbers may be written in short."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ledger.words import LETTER_OF, SEXES

if TYPE_CHECKING:
    from ledger.kinds._kind import Kind

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_SEX_PATTERN = "^(male|female|hermaphrodite|unknown)$"
_COUNTS_PATTERN = r"^\s*(\d+|\d+\.\d+\.\d+)\s*(\+\s*\d+\s*h?\s*)?$"
_SHORT = {
    "Ref": {"type": "string", "description": "a number, code or name, as it is called"},
    "Text": {"type": "string", "description": "free text; kept apart from the record"},
    "HowMany": {
        "anyOf": [{"type": "integer", "minimum": 0}, {"type": "string", "pattern": _COUNTS_PATTERN}],
        "description": "males.females.unknown, as in 2.3.1 or 2.3.1 + 4 h; a number alone is of unknown sex",
    },
}


def schema_of(kind: Kind) -> dict[str, Any]:
    """The payload's schema, with the short ways of writing."""
    made = kind.Payload.model_json_schema(by_alias=True)
    defs = made.get("$defs", {})
    for name, short in _SHORT.items():
        if name in defs:
            defs[name] = {"anyOf": [short, defs[name]]}
    out: dict[str, Any] = _alone(_sexes(made))
    out |= {"$schema": _DIALECT, "title": kind.NAME, "description": kind.story()[""]}
    return out


def _sexes(node: Any) -> Any:
    """A sex may be written as a word or by its letter."""
    if isinstance(node, list):
        return [_sexes(part) for part in node]
    if not isinstance(node, dict):
        return node
    if node.get("pattern") == _SEX_PATTERN:
        return {"enum": [*SEXES, *LETTER_OF.values()]} | {k: v for k, v in node.items() if k not in ("pattern", "type")}
    return {key: _sexes(part) for key, part in node.items()}


def _alone(node: Any) -> Any:
    """A list of one may be written as that one, where its form says so."""
    if isinstance(node, list):
        return [_alone(part) for part in node]
    if not isinstance(node, dict):
        return node
    out = {key: _alone(part) for key, part in node.items() if key != "one_alone"}
    return {"anyOf": [out, out["items"]]} if node.get("one_alone") is True else out
