"""The form of an entry as people write it: its keys, its kind, its id, its payload; each refused in words."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any
from uuid import UUID

from pydantic import ValidationError

from ledger import kinds
from ledger.kinds.base import Carried
from ledger.spot import Refused, Spot

ENTRY_KEYS = ("kind", "occurred", "payload", "event_id", "supersedes", "observed_by", "source", "reason", "batch")


def keys_of(entry: Any, at: Spot) -> dict[str, Any]:
    """The entry, where it is an object with none but the keys of an entry. Raises Refused."""
    if not isinstance(entry, dict):
        at.refuse("not-an-entry", f"it is {type(entry).__name__}", "an object", "Write one object an entry.")
    unknown = [str(k) for k in entry if k not in ENTRY_KEYS]
    if unknown:
        expected, way = "only " + ", ".join(ENTRY_KEYS), "Leave it out; the book writes the rest itself."
        raise Refused(*[at.finding("not-an-entry", f"the key {k!r:.60}", expected, way, k[:60]) for k in unknown])
    return dict(entry)


def same_id(given: Any) -> str | None:
    """An event id in the one spelling, however it was spelled; None where it is no UUID, or that of nothing."""
    try:
        plain = UUID(given)
    except (ValueError, TypeError, AttributeError):
        return None
    return str(plain) if plain.int else None


def event_id_of(entry: dict[str, Any], at: Spot) -> str:
    """The entry's own id in the one spelling; "" where the book is to make one. Raises Refused."""
    given = entry.get("event_id")
    if given is None:
        return ""
    plain = same_id(given)
    if plain is None:
        at.refuse(
            "bad-field", f"event_id is {str(given)[:60]!r}", "a UUID", "Leave it out; the book makes one.", "event_id"
        )
    return plain


def kind_of(entry: dict[str, Any], at: Spot) -> kinds.Kind:
    """The kind it names. Raises Refused."""
    name = entry.get("kind")
    if not isinstance(name, str) or name not in kinds.KINDS:
        way = _near(name, kinds.KINDS) or "`tidemark kinds` lists them."
        at.refuse("unknown-kind", "no kind" if name is None else repr(name)[:60], "a kind of event", way, "kind")
    return kinds.KINDS[name]


def payload_of(entry: dict[str, Any], kind: kinds.Kind, at: Spot) -> Carried:
    """Its payload, as people type it, held against the kind. Raises Refused."""
    given = entry.get("payload", {})
    if not isinstance(given, dict):
        at.refuse(
            "bad-field", f"payload is {type(given).__name__}", "an object", "Write the fields in braces.", "payload"
        )
    later = kind.later(given)
    if later:
        expected = "a field of today"
        raise Refused(*[at.finding("not-yet", f"{k!r} is not taken yet", expected, way, k) for k, way in later])
    empty = [k for k, v in given.items() if v is None or v in ("", [], {})]
    if empty:
        raise Refused(*[at.finding("bad-field", f"{k!r} is empty", "a value", "Leave it out.", str(k)) for k in empty])
    try:
        return kind.Payload.model_validate(given)
    except ValidationError as error:
        raise Refused(*[_explain(item, kind, at) for item in error.errors(include_url=False)[:20]]) from None
    except RecursionError:
        at.refuse("too-large", "it is nested too deep", "at most eight levels", "Flatten it.", "payload")


def _explain(item: Any, kind: kinds.Kind, at: Spot) -> Any:
    """One error of the payload's model as a finding."""
    name = ".".join(str(p) for p in item["loc"] if not str(p).startswith(("function-", "Ref", "Text", "HowMany")))
    context = item.get("ctx") or {}
    if "way_out" in context:  # the kind's own words
        return at.finding(
            item["type"], context["found"], context["expected"], context["way_out"], context.get("field") or name
        )
    if item["type"] == "missing":
        return at.finding(
            "bad-field", f"{name} is missing", name, f"`tidemark schema {kind.NAME}` lists the fields.", name
        )
    if item["type"] == "extra_forbidden":
        fields = [f.alias or k for k, f in kind.Payload.model_fields.items()]
        way = _near(name, fields) or f"`tidemark schema {kind.NAME}` lists them."
        return at.finding("bad-field", f"no field {name!r} in a {kind.NAME}", "fields of this kind", way, name)
    given = repr(item.get("input"))
    given = given if len(given) <= 80 else given[:77] + "…"
    message = item["msg"].removeprefix("Value error, ").removeprefix("Input should be ").rstrip(".")
    way = f"Mend that field; `tidemark schema {kind.NAME}` shows its form."
    found = f"{name or 'the payload'} is {given}"
    return at.finding("bad-field", found, message[:1].lower() + message[1:], way, name)


def _near(name: object, known: Iterable[str]) -> str:
    near = get_close_matches(name, list(known), 1, 0.7) if isinstance(name, str) else []
    return f"Did you mean {near[0]!r}?" if near else ""
