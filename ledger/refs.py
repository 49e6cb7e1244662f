"""Which fields of a payload are references, which are free text: read off the model once.

A payload may name things in lists, in lists of lists and in parts that are models of their own (the parent pairs of a
brood). `named` walks them all, `renamed` makes the payload anew with each exchanged; whoever asks what an event names
asks here. Only a field of the payload itself can give a new number or code: `ref_fields`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import Annotated, Any, Final, NamedTuple, TypeVar, get_args, get_origin

from pydantic import BaseModel

from ledger.kinds.base import Carried, HowMany, Names, Ref, Text


class RefField(NamedTuple):
    """A field that names things."""

    name: str  # as it stands in bytes
    attr: str  # as the model calls it
    sorts: tuple[str, ...]
    new: str
    many: bool


@cache
def ref_fields(model: type[BaseModel]) -> tuple[RefField, ...]:
    """Fields of a payload itself that name things of the register or subjects, in the order written."""
    out = []
    for attr, info in model.model_fields.items():
        names = next((m for m in info.metadata if isinstance(m, Names)), None) or _names(info.annotation)
        if names:
            out.append(RefField(info.alias or attr, attr, names.sorts, names.new, _many(info.annotation)))
    return tuple(out)


class Named(NamedTuple):
    """One reference of a payload: the innermost field it stands in, where that is (`parents.dam`), the reference."""

    field: RefField
    at: str
    ref: Ref


M = TypeVar("M", bound=BaseModel)
Change = Callable[[RefField, str, Ref | str], Ref | str]


_KEPT: dict[int, tuple[BaseModel, tuple[Named, ...]]] = {}
_MOST: Final = 4_096  # payloads whose references are kept: those of a batch are asked for many times


def references(payload: BaseModel) -> tuple[Named, ...]:
    """Every reference of a payload that stands, which nothing changes any more; as `named`."""
    kept = _KEPT.get(id(payload))  # the payload is held beside them, so that no other can have its id
    if kept is not None and kept[0] is payload:
        return kept[1]
    if len(_KEPT) >= _MOST:
        _KEPT.clear()
    found = tuple(named(payload))
    _KEPT[id(payload)] = (payload, found)
    return found


def named(payload: BaseModel, at: str = "") -> Iterator[Named]:
    """Every reference of a payload, however deep, in the order written."""
    for attr, name, field in _walked(type(payload)):
        value = getattr(payload, attr)
        if value is not None:
            yield from _inside(value, field, f"{at}{name}")


def _inside(value: Any, field: RefField | None, at: str) -> Iterator[Named]:
    if isinstance(value, Ref):
        if field is not None:
            yield Named(field, at, value)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _inside(one, field, at)
    elif isinstance(value, BaseModel):
        yield from named(value, f"{at}.")


def renamed(payload: M, change: Change, at: str = "") -> M:
    """The payload with each reference exchanged; a text where a thing of the register might stand is asked too."""
    update = {}
    for attr, name, field in _walked(type(payload)):
        value = getattr(payload, attr)
        if value is not None:
            update[attr] = _exchanged(value, field, f"{at}{name}", change)
    return payload.model_copy(update=update)


def _exchanged(value: Any, field: RefField | None, at: str, change: Change) -> Any:
    if isinstance(value, list | tuple):
        return [_exchanged(one, field, at, change) for one in value]
    if field is not None:
        asked = isinstance(value, Ref) or (field.new == "plain" and isinstance(value, str))
        return change(field, at, value) if asked else value
    return renamed(value, change, f"{at}.") if isinstance(value, BaseModel) else value


def written(model: type[BaseModel], payload: Any, at: str = "") -> Iterator[tuple[RefField, str, str]]:
    """(field, where, text) of every name in a payload as people type it, whatever its form, in the order of `named`."""
    for _attr, name, field in _walked(model) if isinstance(payload, dict) else ():
        if name in payload:
            yield from _typed(model, payload[name], field, name, at)


def _typed(model: type[BaseModel], value: Any, field: RefField | None, name: str, at: str) -> Iterator[Any]:
    if isinstance(value, list):
        for one in value:
            yield from _typed(model, one, field, name, at)
    elif field is not None:
        text = value.get("id") or value.get("as") if isinstance(value, dict) else value
        if isinstance(text, str) and text.strip():
            yield field, f"{at}{name}", text.strip()
    else:
        for inner in _parts(model, name):
            yield from written(inner, value, f"{at}{name}.")


def rewritten(payload: BaseModel, typed: dict[str, Any], change: Callable[[Ref, Any], Any]) -> dict[str, Any]:
    """The typed form of a payload, every name exchanged: `change` is asked with the reference and what was typed."""
    out = dict(typed)
    for attr, name, field in _walked(type(payload)):
        value = getattr(payload, attr)
        if name in out and value is not None:
            out[name] = _beside(value, out[name], field, change)
    return out


def _beside(value: Any, typed: Any, field: RefField | None, change: Callable[[Ref, Any], Any]) -> Any:
    if isinstance(value, Ref):
        return change(value, typed) if field is not None else typed
    if isinstance(value, list):
        return [_beside(v, t, field, change) for v, t in zip(value, typed, strict=True)]
    return rewritten(value, typed, change) if isinstance(value, BaseModel) and isinstance(typed, dict) else typed


@cache
def _walked(model: type[BaseModel]) -> tuple[tuple[str, str, RefField | None], ...]:
    """(attribute, name in bytes, field) of what names things, or holds parts that do: then the field is None."""
    direct = {f.attr: f for f in ref_fields(model)}
    out = []
    for attr, info in model.model_fields.items():
        inner = any(_walked(part) for part in _parts(model, info.alias or attr))
        if attr in direct or inner:
            out.append((attr, info.alias or attr, direct.get(attr)))
    return tuple(out)


@cache
def _parts(model: type[BaseModel], name: str) -> tuple[type[BaseModel], ...]:
    """Models of the parts of one field."""
    found = (info for attr, info in model.model_fields.items() if (info.alias or attr) == name)
    return tuple(m for info in found for m in _models(info.annotation) if m not in (Ref, HowMany))


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
