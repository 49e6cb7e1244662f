"""Which fields of a payload are references, which are free text: read off the model once."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, NamedTuple, get_args, get_origin

from pydantic import BaseModel

from ledger.kinds.base import Carried, Names, Text


class RefField(NamedTuple):
    """A field that names things."""

    name: str  # as it stands in bytes
    attr: str  # as the model calls it
    sorts: tuple[str, ...]
    new: str
    many: bool


@cache
def ref_fields(model: type[Carried]) -> tuple[RefField, ...]:
    """Fields of a payload that name things of the register or subjects, in the order written."""
    out = []
    for attr, info in model.model_fields.items():
        names = next((m for m in info.metadata if isinstance(m, Names)), None) or _names(info.annotation)
        if names:
            out.append(RefField(info.alias or attr, attr, names.sorts, names.new, _many(info.annotation)))
    return tuple(out)


@cache
def text_fields(model: type[Carried]) -> tuple[tuple[str, str], ...]:
    """(name in bytes, attribute) of the fields that hold free text."""
    return tuple((info.alias or attr, attr) for attr, info in model.model_fields.items() if _has(info.annotation, Text))


@cache
def inner_texts(model: type[Carried], name: str) -> frozenset[str]:
    """Names of the free texts inside the parts of a listed field (`facts`, `listings`)."""
    found: set[str] = set()
    for attr, info in model.model_fields.items():
        if (info.alias or attr) == name:
            for part in _models(info.annotation):
                found |= {i.alias or a for a, i in part.model_fields.items() if _has(i.annotation, Text)}
    return frozenset(found)


def _models(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [] if annotation is Text else [annotation]
    return [model for part in get_args(annotation) for model in _models(part)]


def _has(annotation: Any, what: type) -> bool:
    return annotation is what or any(_has(part, what) for part in get_args(annotation))


def _names(annotation: Any) -> Names | None:
    if get_origin(annotation) is Annotated:
        for extra in get_args(annotation)[1:]:
            if isinstance(extra, Names):
                return extra
    for part in get_args(annotation):
        found = _names(part)
        if found:
            return found
    return None


def _many(annotation: Any) -> bool:
    return get_origin(annotation) in (list, tuple) or any(_many(part) for part in get_args(annotation))
