"""Reads `tests/cases/**/*.yaml` strictly: text stays text, a key that is not known or stands twice fails."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal

import yaml
from pydantic import BaseModel, ConfigDict, Field, model_validator

CASES = Path(__file__).parent / "cases"
WORLD = CASES / "world.yaml"
ENVELOPE = ("kind", "occurred", "event_id", "supersedes", "observed_by", "source", "reason")


class _Loader(yaml.SafeLoader):
    """YAML whose only scalars beside text are true, false, null and whole numbers: no dates, no 1.10, no `on`."""


_Loader.yaml_implicit_resolvers = {}
_Loader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(true|false)$"), list("tf"))
_Loader.add_implicit_resolver("tag:yaml.org,2002:null", re.compile(r"^(null|~|)$"), ["n", "~", ""])
_Loader.add_implicit_resolver("tag:yaml.org,2002:int", re.compile(r"^(0|-?[1-9][0-9]*)$"), list("-0123456789"))


def _mapping(loader: yaml.SafeLoader, node: yaml.MappingNode) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key_node, value_node in node.value:
        key = loader.construct_object(key_node, deep=True)
        if key in out:
            raise yaml.constructor.ConstructorError(None, None, f"{key!r} stands twice", key_node.start_mark)
        out[key] = loader.construct_object(value_node, deep=True)
    return out


_Loader.add_constructor("tag:yaml.org,2002:map", _mapping)


def read_yaml(text: str) -> Any:
    """YAML text as plain values."""
    return yaml.load(text, Loader=_Loader)  # noqa: S506 - a SafeLoader with fewer scalars


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Correction(Strict):
    """`event`: a label of the case, or #n."""

    event: str
    changes: dict[str, Any] = {}
    reason: str
    text: str | None = None
    occurred: str | None = None
    recorded: str | None = None


class Strike(Strict):
    event: str
    reason: str
    text: str | None = None
    recorded: str | None = None


class Census(Strict):
    """`known`: a label (its batch), a day, an instant or @n; by default all that is recorded."""

    on: str
    known: str | None = None
    by: list[str] = ["taxon"]
    house: str | None = "MS"
    basis: Literal["held", "owned", "both"] = "held"


class Rollforward(Strict):
    first: str
    last: str
    known: str | None = None
    house: str | None = "MS"
    basis: Literal["held", "owned"] = "held"


class Register(Strict):
    first: str
    last: str
    known: str | None = None
    house: str | None = "MS"


class Corrections(Strict):
    """Corrections recorded from `first` to `last`; `completed`: entries completed by what was learnt instead."""

    first: str
    last: str
    known: str | None = None
    house: str | None = "MS"
    basis: Literal["held", "owned"] = "held"
    completed: bool = False


class Sexes(Strict):
    """Sex transitions; with `findings` the entries about sex and what each did to figures."""

    on: str
    known: str | None = None
    house: str | None = "MS"
    findings: bool = False


class Succession(Strict):
    """Social units on a day."""

    on: str
    known: str | None = None
    house: str | None = "MS"


class Where(Strict):
    """Where the animals of one subject stand; accounts, and outside parties they came from, only if asked for."""

    subject: str
    on: str
    known: str | None = None
    accounts: bool = False


class Life(Strict):
    """Lines of one animal or lot of these topics; those of a lot it came through only where asked for."""

    subject: str
    on: str
    known: str | None = None
    topics: list[str]
    through: bool = False


class Find(Strict):
    """Who bore a mark, number or name, and who stood in an enclosure on the day."""

    text: str
    on: str
    known: str | None = None


class Pairs(Strict):
    """Bonds with their histories; of a member house, or (null) of all."""

    on: str
    known: str | None = None
    house: str | None = "MS"


class Broods(Strict):
    """One brood, or all of a house; without either, of the whole book."""

    on: str
    known: str | None = None
    brood: str | None = None
    house: str | None = None


class Kin(Strict):
    """The kin of one animal or lot, chances to three places."""

    subject: str
    on: str
    known: str | None = None


class Shared(Strict):
    """Who shared an enclosure with one, and its associations; or the candidate parents of it (or of a brood)."""

    subject: str
    on: str
    known: str | None = None
    candidates: bool = False


class Outcome(Strict):
    """What became of a record: exactly one of landed, refused, warned.

    `accepted`: the warnings it landed with; `says`: words of a finding; `stores`: fields as stored.
    """

    landed: Literal[True] | None = None
    refused: list[str] | None = None
    warned: list[str] | None = None
    accepted: list[str] | None = None
    says: str | None = None
    stores: dict[str, Any] | None = None

    @model_validator(mode="after")
    def _one(self) -> Outcome:
        if sum(x is not None for x in (self.landed, self.refused, self.warned)) != 1:
            raise ValueError("then: exactly one of landed, refused, warned")
        return self


Entries = dict[str, Any] | list[dict[str, Any]]


STEPS = (
    "record",
    "correct",
    "strike_out",
    "census",
    "rollforward",
    "entered",
    "corrections",
    "where",
    "sexes",
    "succession",
    "pairs",
    "broods",
    "life",
    "find",
    "kin",
    "shared",
)


class Step(Strict):
    """One thing done or asked, and what must come of it."""

    record: Entries | None = None
    correct: Correction | None = None
    strike_out: Strike | None = None
    census: Census | None = None
    rollforward: Rollforward | None = None
    entered: Register | None = Field(default=None, alias="register")
    corrections: Corrections | None = None
    where: Where | None = None
    sexes: Sexes | None = None
    succession: Succession | None = None
    pairs: Pairs | None = None
    life: Life | None = None
    find: Find | None = None
    broods: Broods | None = None
    kin: Kin | None = None
    shared: Shared | None = None
    then: Outcome | list[dict[str, Any]]
    never: list[dict[str, Any]] = []

    @property
    def what(self) -> str:
        """Which of them it is."""
        return next(name for name in STEPS if getattr(self, name) is not None)

    @model_validator(mode="after")
    def _one(self) -> Step:
        if sum(getattr(self, name) is not None for name in STEPS) != 1:
            raise ValueError("a step does or asks exactly one thing")
        done = self.what in ("record", "correct", "strike_out")
        if done != isinstance(self.then, Outcome):
            raise ValueError("a record ends landed, refused or warned; a question is answered by a list of rows")
        return self


class Given(Strict):
    """A correction or striking out among what is given; records are plain entries or lists of them."""

    correct: Correction | None = None
    strike_out: Strike | None = None


class Case(Strict):
    case: Annotated[str, Field(min_length=10)]
    given: list[Any] = []
    when: Annotated[list[Step], Field(min_length=1)]


class World(Strict):
    person: dict[str, Any]
    house: dict[str, Any]
    recorded: str
    entries: list[dict[str, Any]]


def cases_of(text: str) -> list[Case]:
    """The cases of one file."""
    return [Case.model_validate(one) for one in read_yaml(text)]


def all_files() -> list[Path]:
    """Every file of cases; bad input stands apart (`refused/`, read by test_refused)."""
    return sorted(path for path in CASES.rglob("*.yaml") if path != WORLD and path.parent.name != "refused")


@cache
def world() -> World:
    """The world every case begins in."""
    return World.model_validate(read_yaml(WORLD.read_text(encoding="utf-8")))
