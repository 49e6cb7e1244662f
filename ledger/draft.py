"""From an entry as people write it to an event ready to stand: names to ids, text detached, days resolved, gaps filled.

Nothing is written here and nothing is judged across events; every refusal is a finding about this entry alone.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from ledger import kinds
from ledger.acts import Cell
from ledger.chance import Chance
from ledger.dates import DateRefused, Hemisphere, resolve
from ledger.event import MOST_BYTES, BadValue, TextRow, commit_text, normalise
from ledger.form import commits
from ledger.index import Index, Standing
from ledger.kinds.base import CannotFill, Carried, Event, Ref, Text
from ledger.naming import Namer
from ledger.refs import ref_fields
from ledger.spot import Refused, Spot, spot
from ledger.words import CORRECTION_REASONS, PREFIX

ENTRY_KEYS = ("kind", "occurred", "payload", "event_id", "supersedes", "observed_by", "source", "reason", "batch")
NEVER_SUPERSEDED = ("book", "reposting")


@dataclass(slots=True)
class Draft:
    """An entry made ready: the event that will stand, the parts of its envelope, its texts."""

    at: Spot
    standing: Standing
    content: dict[str, Any]  # the keys of the envelope that the entry decides
    supersedes: int | None
    texts: list[TextRow] = field(default_factory=list)
    reason: str = ""
    old: Standing | None = None  # what it supersedes, as it stood

    @property
    def where(self) -> str:
        """The entry in words."""
        return self.at.where

    @property
    def number(self) -> int:
        """Which entry of the batch, from 0."""
        return self.at.number


class Drafter:
    """Drafts the entries of one batch, one after another, on an index to which the earlier ones are applied."""

    def __init__(self, index: Index, chance: Chance, recorded: str, ids: dict[str, str] | None = None) -> None:
        self.index, self.chance, self.recorded = index, chance, recorded
        self.namer = Namer(index, chance, dict(ids or {}))

    def draft(self, entry: Any, number: int, seq: int, row_key: str | None = None) -> Draft:
        """Make one entry ready. Raises Refused with every finding about it."""
        at = spot(entry, number)
        try:
            return self._draft(entry, at, seq, row_key)
        except BadValue as bad:
            at.refuse(bad.code, bad.found, bad.expected, "Mend that text or number.", bad.where)

    def _draft(self, entry: Any, at: Spot, seq: int, row_key: str | None) -> Draft:
        kind = _kind(_keys(entry, at), at)
        old = self._superseded(entry, kind, at)
        before = old if old is not None and kind.NAME != "void" else None
        texts: list[TextRow] = []
        payload = self.namer.resolve(_payload(entry, kind, at), before, at)
        occurred = self._occurred(entry, payload, old, at)
        first = date.fromisoformat(occurred["first"]).toordinal() if occurred["first"] else self.index.floor
        last = date.fromisoformat(occurred["last"]).toordinal()
        if kind.ONE_DAY and first != last:
            found = f"{occurred['edtf']!r} is a range"
            at.refuse("needs-one-day", found, "one day", "Say the day on which it was done.", "occurred")
        root = old.root if old else seq
        payload = self._fill(payload, kind, last, root, at)
        stored = self._stored(payload, texts, at)
        foreign = set(commits(stored)) - {t.commit for t in texts}
        foreign -= set(commits(_dumped(before.payload))) if before else set()
        if foreign:
            at.refuse("bad-field", "a commitment without its text", "the text itself", "Write the text.")
        payload = kind.read(stored, kind.VERSION)
        event_id = _event_id(entry, at) or self.chance.uuid7(self.recorded)
        acts = () if kind.NAME == "void" else kind.acts(payload)
        event = Standing(seq, root, event_id, kind.NAME, payload, acts, first, last, occurred["edtf"], self.recorded)
        content: dict[str, Any] = {
            "kind": kind.NAME,
            "version": kind.VERSION,
            "occurred": occurred,
            "payload": stored,
            "source": self._source(entry.get("source"), texts, at),
            "reason": self._reason(entry.get("reason"), old, texts, at),
            "observed_by": self.namer.people(entry.get("observed_by"), at),
            "supersedes": old.event_id if old else None,
            "row_key": row_key,
            "event_id": event_id,
        }
        self.namer.must_be_free(event, before, at)
        code = content["reason"]["code"] if content["reason"] else ""
        event = event._replace(observed_by=tuple(content["observed_by"]))
        return Draft(at, event, content, old.seq if old else None, texts, code, old)

    def seq_of(self, named: object) -> int | None:
        """Position of an event named `#12`, `12`, 12 or by its UUID; None where there is none."""
        return self.index.seq_of(named)

    def calendar(self, payload: Carried) -> tuple[Hemisphere, str]:
        """Hemisphere and time zone of the house concerned: named, of the enclosure, of the holder; else the book's."""
        things, house = self.index.things, ""
        for f in ref_fields(type(payload)):
            ref = getattr(payload, f.attr)
            if house or not isinstance(ref, Ref) or not ref.id:
                continue
            if ref.id[:2] == "h-":
                house = ref.id
            elif ref.id[:2] == "e-" and ref.id in things:
                house = things[ref.id].house
            elif ref.id[:2] in ("a-", "g-") and ref.id in things:
                house = next((c.holder for c in self.index.tale(ref.id).state.cells if c.holder[:2] == "h-"), "")
        thing = things.get(house)
        if thing is not None:
            return thing.fields["hemisphere"], thing.fields["time_zone"]
        book = self.index.standing[1].payload if 1 in self.index.standing else payload
        return getattr(book, "hemisphere", "north"), getattr(book, "time_zone", "UTC")

    # --- the steps ------------------------------------------------------------------------------

    def _superseded(self, entry: dict[str, Any], kind: kinds.Kind, at: Spot) -> Standing | None:
        named, field_ = entry.get("supersedes"), "supersedes"
        if named is None:
            if kind.NAME == "void":
                at.refuse("bad-field", "nothing is named to strike out", "an event", "Say which, as #n.", field_)
            return None
        seq = self.seq_of(named)
        if seq is None:
            at.refuse(
                "unknown-event", f"no event {named!r}", "#n or the id of an event", "Look it up in the log.", field_
            )
        root = self.index.root_of[seq]
        newest, standing = self.index.newest[root], self.index.standing.get(root)
        if standing is None:
            found, way = f"#{seq} is struck out by #{newest}", "Enter it anew; striking out is final."
            at.refuse("struck-out", found, "an event that stands", way, field_, newest)
        if newest != seq:
            found = f"#{seq} is superseded already by #{newest}"
            at.refuse("not-the-newest", found, "the newest of its line", f"Correct #{newest} instead.", field_, newest)
        if standing.kind in NEVER_SUPERSEDED:
            at.refuse("never-superseded", f"#{seq} is a {standing.kind}", "another kind", "It stays as it is.", field_)
        if kind.NAME not in ("void", standing.kind):
            way = "Strike it out and enter the other kind anew, in one batch."
            at.refuse("other-kind", f"#{seq} is a {standing.kind}", f"a {standing.kind}", way, "kind")
        return standing

    def _occurred(self, entry: dict[str, Any], payload: Carried, old: Standing | None, at: Spot) -> dict[str, Any]:
        text = entry.get("occurred")
        if not isinstance(text, str) or not text.strip():
            at.refuse(
                "bad-date", f"occurred is {text!r}", "a day, such as 2025-03-04", "Say when it happened.", "occurred"
            )
        text = text.strip()
        if old is not None and old.edtf == text:  # the days stay as they were resolved
            open_start = old.first == self.index.floor and text.startswith("..")
            first = None if open_start else date.fromordinal(old.first).isoformat()
            return {"edtf": text, "first": first, "last": date.fromordinal(old.last).isoformat()}
        hemisphere, zone = self.calendar(payload)
        floor = date.fromordinal(self.index.floor)
        try:
            got = resolve(text, hemisphere=hemisphere, floor=floor, recorded_on=civil(self.recorded, zone))
        except DateRefused as bad:
            at.refuse(bad.code, bad.found, bad.expected, bad.way_out, "occurred")
        return {"edtf": text, "first": got.first.isoformat() if got.first else None, "last": got.last.isoformat()}

    def _fill(self, payload: Carried, kind: kinds.Kind, day: int, root: int, at: Spot) -> Carried:
        """What nobody need type. An entry may itself prove that something uncertain had happened by its day."""
        try:
            return kind.fill(payload, Looking(self.index, day, root))
        except CannotFill as gap:
            try:
                return kind.fill(payload, Looking(self.index, day, root, latest=True))
            except CannotFill:
                at.refuse(gap.code, gap.found, gap.expected, gap.way_out, gap.field)

    def _stored(self, payload: Carried, texts: list[TextRow], at: Spot) -> dict[str, Any]:
        """A payload as it stands in the bytes: absent where not given, free text detached, all text in NFC."""
        dumped = _dumped(payload)
        for key, value in dumped.items():
            if isinstance(value, dict) and value and set(value) <= {"m", "f", "u", "h", "n"}:
                dumped[key] = {k: n for k, n in value.items() if n} or {"u": 0}
        kept = {k: self._apart(v, texts) for k, v in dumped.items() if v not in ([], {})}
        try:
            return dict(normalise(kept)) if kept else {}
        except BadValue as bad:
            at.refuse(bad.code, bad.found, bad.expected, "Mend that field.", bad.where)

    def _apart(self, value: Any, texts: list[TextRow]) -> Any:
        """Free text, however deep, as a commitment."""
        if isinstance(value, list):
            return [self._apart(v, texts) for v in value]
        if not isinstance(value, dict):
            return value
        if set(value) == {"clear"}:
            return {"commit": detach(value["clear"], self.chance, texts).commit}
        return {k: self._apart(v, texts) for k, v in value.items()}

    def _source(self, source: Any, texts: list[TextRow], at: Spot) -> dict[str, Any] | None:
        if source is None:
            return None
        known = isinstance(source, dict) and not set(source) - {"kind", "ref", "sha256"}
        if not known or not isinstance(source.get("kind"), str) or not source["kind"]:
            way = "Name the sort of source and where in it."
            at.refuse("bad-field", "source is not of its form", '{"kind": "day_sheet", "ref": "…"}', way, "source")
        out = {"kind": source["kind"]}
        if source.get("ref"):
            out["ref"] = {"commit": detach(str(source["ref"]), self.chance, texts).commit}
        if source.get("sha256"):
            out["sha256"] = str(source["sha256"])
        return out

    def _reason(self, reason: Any, old: Standing | None, texts: list[TextRow], at: Spot) -> dict[str, Any] | None:
        reason = {"code": reason} if isinstance(reason, str) else reason
        if old is None and reason is None:
            return None
        known = isinstance(reason, dict) and not set(reason) - {"code", "text"}
        if not known or reason.get("code") not in CORRECTION_REASONS:
            expected = "one of " + ", ".join(CORRECTION_REASONS)
            at.refuse("bad-field", f"reason is {reason!r}", expected, "Say why it is corrected.", "reason")
        out: dict[str, Any] = {"code": reason["code"]}
        if reason.get("text"):
            out["text"] = {"commit": detach(str(reason["text"]), self.chance, texts).commit}
        return out


class Looking:
    """What a kind may ask (`kinds.base.Look`), at one event's last possible day and without that event."""

    def __init__(self, index: Index, day: int, root: int, *, latest: bool = False) -> None:
        self.index, self.day, self.root, self.latest = index, day, root, latest

    def house_of(self, enclosure: Ref) -> Ref:
        """The member house of an enclosure."""
        return self.ref(self.index.things[enclosure.id or ""].house)

    def cells(self, subject: Ref) -> dict[Cell, int]:
        """Where its animals stand at the close of that day."""
        return self.index.cells(subject.id or "", self.day, self.root, latest=self.latest)

    def ref(self, id: str) -> Ref:
        """A reference by id, called as it is called now; persons by id alone."""
        thing = self.index.things.get(id)
        if thing is None or thing.fields.get("sort") == "natural_person" or thing.sort == "person":
            return Ref(id=id)
        return Ref(as_=thing.code, id=id)

    def is_new(self, subject: Ref) -> bool:
        """Tell whether no other standing event brings it in: it is new to the book, or an outside animal so far."""
        return not self.index.arrived(subject.id or "", self.root)

    def fields(self, thing: Ref) -> Mapping[str, Any]:
        """What the register says about a thing on that day."""
        return self.index.fields_on(thing.id or "", self.day)

    def agreements(self, subject: Ref) -> list[Ref]:
        """Agreements under which it came or went by that day, the newest first."""
        standing = (self.index.standing.get(root) for root in self.index.of_subject.get(subject.id or "", ()))
        by_then = sorted((e for e in standing if e and e.last <= self.day), key=lambda e: (-e.last, -e.root))
        named = (getattr(event.payload, "agreement", None) for event in by_then)
        return [ref for ref in named if isinstance(ref, Ref)]

    def last_day(self) -> int:
        """The event's last possible day."""
        return self.day

    def event(self, named: str) -> Event | None:
        """A standing event by position or id, the newest of its line; never this one."""
        seq = self.index.seq_of(named)
        found = self.index.standing.get(self.index.root_of[seq]) if seq is not None else None
        if found is None or found.root == self.root:
            return None
        return Event(found.event_id, found.kind, found.last, found.payload)


def detach(clear: str, chance: Chance, texts: list[TextRow]) -> Text:
    """Commit to a free text; the text itself goes into `texts`, apart from the bytes."""
    clear = unicodedata.normalize("NFC", clear)
    try:
        size = len(clear.encode())
    except UnicodeEncodeError:
        raise BadValue("half a character (a lone surrogate)", "whole characters") from None
    if size > MOST_BYTES:
        raise BadValue(f"a text of {size} bytes", "at most 65,536", "too-large")
    salt = chance.salt()
    commit = commit_text(salt, clear)
    texts.append(TextRow(commit, salt, clear))
    return Text(commit=commit)


def civil(recorded: str, zone: str) -> date:
    """The civil date of an instant in a time zone."""
    return datetime.fromisoformat(recorded).astimezone(ZoneInfo(zone)).date()


def _keys(entry: Any, at: Spot) -> dict[str, Any]:
    if not isinstance(entry, dict):
        at.refuse("not-an-entry", f"it is {type(entry).__name__}", "an object", "Write one object an entry.")
    unknown = [str(k) for k in entry if k not in ENTRY_KEYS]
    if unknown:
        expected, way = "only " + ", ".join(ENTRY_KEYS), "Leave it out; the book writes the rest itself."
        raise Refused(*[at.finding("not-an-entry", f"the key {k!r}", expected, way, k) for k in unknown])
    return dict(entry)


def _event_id(entry: dict[str, Any], at: Spot) -> str:
    given = entry.get("event_id")
    if given is None:
        return ""
    try:
        return str(UUID(given))
    except (ValueError, TypeError, AttributeError):
        at.refuse(
            "bad-field", f"event_id is {str(given)[:60]!r}", "a UUID", "Leave it out; the book makes one.", "event_id"
        )


def _kind(entry: dict[str, Any], at: Spot) -> kinds.Kind:
    name = entry.get("kind")
    if not isinstance(name, str) or name not in kinds.KINDS:
        way = _near(name, kinds.KINDS) or "`tidemark kinds` lists them."
        at.refuse("unknown-kind", repr(name), "a kind of event", way, "kind")
    return kinds.KINDS[name]


def _payload(entry: dict[str, Any], kind: kinds.Kind, at: Spot) -> Carried:
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
            item["type"], context["found"], context["expected"], context["way_out"], context["field"] or name
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
    message = item["msg"].removeprefix("Value error, ").rstrip(".")
    return at.finding(
        "bad-field", f"{name or 'the payload'} is {given}", message[:1].lower() + message[1:], "Mend that field.", name
    )


def _near(name: object, known: Iterable[str]) -> str:
    near = get_close_matches(name, list(known), 1, 0.7) if isinstance(name, str) else []
    return f"Did you mean {near[0]!r}?" if near else ""


def _dumped(payload: Carried) -> dict[str, Any]:
    return payload.model_dump(mode="json", by_alias=True, exclude_none=True)


def sort_by_prefix(id_: str) -> str:
    """The sort of a thing, from the prefix of its id; "" for a text that is none."""
    return next((sort for sort, prefix in PREFIX.items() if id_.startswith(prefix)), "")
