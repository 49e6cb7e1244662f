"""What the rest of the ledger may ask of a kind, whichever it is."""

from __future__ import annotations

from collections.abc import Callable
from difflib import get_close_matches
from types import ModuleType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from ledger.acts import Act
from ledger.kinds.base import Carried, Look, Names, Text

HEADINGS = ("What happened", "When it counts", "What it changes", "What it does not mean", "Example")

Upcast = Callable[[dict[str, Any]], dict[str, Any]]


class Kind:
    """One kind: its name and version, its payload, its acts, its story.

    `names`: fields that name things, by field name as written, with what they may name. `texts`: fields whose
    text is kept apart. `follows`: for a field, those the book had filled in by it, to be filled in again when
    it is corrected.
    """

    def __init__(self, module: ModuleType) -> None:
        self.module = module
        self.NAME: str = module.NAME
        self.VERSION: int = module.VERSION
        self.ONE_DAY: bool = module.ONE_DAY
        self.Payload: type[Carried] = module.Payload
        self.LATER: dict[str, str] = module.Payload.LATER
        self.subject_fields: tuple[str, ...] = module.SUBJECT_FIELDS
        self.follows: dict[str, tuple[str, ...]] = getattr(module, "FOLLOWS", {})
        self.upcasts: dict[int, Upcast] = getattr(module, "UPCASTS", {})
        self.names: dict[str, Names] = {}
        self.texts: tuple[str, ...] = ()
        for key, field in self.Payload.model_fields.items():
            written = field.alias or key
            marks = [*field.metadata, *_marks(field.annotation)]
            named = [mark for mark in marks if isinstance(mark, Names)]
            if named:
                self.names[written] = named[0]
            if Text in marks:
                self.texts += (written,)

    def read(self, payload: dict[str, Any], version: int) -> Carried:
        """A stored payload of any version up to this one. `pydantic.ValidationError` where it does not fit."""
        return self.Payload.model_validate(self.upcast(payload, version))

    def upcast(self, payload: dict[str, Any], version: int) -> dict[str, Any]:
        """A stored payload in the shape of today; each step is pure. `ValueError` for a version yet to come."""
        if version > self.VERSION:
            raise ValueError(f"{self.NAME} of version {version} is newer than this program, which knows {self.VERSION}")
        for step in range(version, self.VERSION):
            payload = self.upcasts[step](payload)
        return payload

    def fill(self, payload: Carried, look: Look) -> Carried:
        """What a person need not type. `CannotFill` where a person must say. Names must bear their ids already."""
        fill = getattr(self.module, "fill", None)
        filled: Carried = payload if fill is None else fill(payload, look)
        return filled

    def acts(self, payload: Carried) -> tuple[Act, ...]:
        """What a stored payload does to its subjects. Total; pure."""
        acts: tuple[Act, ...] = self.module.acts(payload)
        return acts

    def corrected(self, payload: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
        """A payload with some fields changed; None takes a field out. What followed from them is to be filled anew."""
        out = dict(payload)
        for field in changes:
            for follower in self.follows.get(field, ()):
                out.pop(follower, None)
        out |= changes
        return {field: value for field, value in out.items() if value is not None}

    def later(self, payload: dict[str, Any]) -> list[tuple[str, str]]:
        """Fields of a typed payload that a later version takes, each with the way out."""
        found = []
        for name, way_out in self.LATER.items():
            outer, _, inner = name.partition(".")
            value = payload.get(outer)
            if (inner and isinstance(value, dict) and inner in value) or (not inner and outer in payload):
                found.append((name, way_out))
        return found

    def nearest_field(self, name: str) -> str:
        """The field most like a mistyped one; "" where none is."""
        fields = [field.alias or key for key, field in self.Payload.model_fields.items()]
        return next(iter(get_close_matches(name, fields, 1, 0.6)), "")

    def schema(self) -> dict[str, Any]:
        """JSON Schema (2020-12) of the payload as people type it."""
        from ledger.kinds._schema import schema_of

        return schema_of(self)

    def story(self) -> dict[str, str]:
        """The docstring by heading; its first line under "" ."""
        return story_of(self.module.__doc__ or "")


def _marks(annotation: Any) -> list[Any]:
    """Everything an annotation is made of: its classes, and what marks them."""
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        return [*marks, *_marks(inner)]
    if get_origin(annotation) in (Union, UnionType):
        return [mark for part in get_args(annotation) for mark in _marks(part)]
    if get_origin(annotation) is list:
        return _marks(get_args(annotation)[0])
    return [annotation]


def story_of(doc: str) -> dict[str, str]:
    """A story by its headings."""
    parts: dict[str, list[str]] = {"": []}
    heading = ""
    for line in doc.splitlines():
        if line in HEADINGS:
            heading = line
            parts[heading] = []
        else:
            parts[heading].append(line.strip())
    return {key: "\n".join(lines).strip() for key, lines in parts.items()}
