"""An entry of the log in words: whom it is about, what it says, and whether it stands."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from ledger.content import content_of
from ledger.kinds import KINDS
from ledger.store.port import Reader, StoredEvent

Called = Callable[[str], str]  # an id to what it is called

_UNSAID: Final = frozenset({"holder", "owner", "addition", "code", "was", "count_day"})  # filled in, or said elsewhere
_ORDINARY: Final = ("unknown", "collection")
_COUNTS: Final = frozenset("mfuhn")
_EVENT_ID: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_TIES: Final = {"learnt": ("completed", "completes"), "mistake": ("corrected", "corrects"), "slip": ("slip", "slip of")}


def amount(value: Mapping[str, int]) -> str:
    """`2.3.1`, `2.3.1 + 4 h`; `5` where sexes were not told."""
    if "n" in value:
        return f"{value['n']:,}"
    m, f, u, h = (value.get(letter, 0) for letter in "mfuh")
    return f"{m}.{f}.{u}" + (f" + {h} h" if h else "")


def plain(value: Any, called: Called) -> str:
    """One value of a payload as it reads."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        if value and set(value) <= _COUNTS:
            return amount(value)
        if set(value) == {"commit"}:
            return "(text erased)"
        return ", ".join(f"{key.replace('_', ' ')} {plain(part, called)}" for key, part in value.items())
    if isinstance(value, list):
        return "; ".join(plain(part, called) for part in value)
    return called(value) if isinstance(value, str) else str(value)


def about(kind: str, payload: Mapping[str, Any], called: Called) -> str:
    """Whom or what an entry is about: the number of its animal or lot, or the thing of the register."""
    fields = KINDS[kind].subject_fields if kind in KINDS else ()
    said = (
        (payload[field] if isinstance(payload[field], list) else [payload[field]])
        for field in fields
        if field in payload
    )
    named = [", ".join(str(called(one)) for one in ones if isinstance(one, str)) for ones in said]
    joined = " → ".join(name for name in named if name)
    return f"into {joined}" if "into" in payload and "→" not in joined else joined


def words(kind: str, payload: Mapping[str, Any], called: Called) -> str:
    """What an entry says, in one line, without whom it is about: `5 from T3 to H1`, `cause not determined`."""
    known = KINDS.get(kind)
    texts = known.texts if known else ()
    needed = {i.alias or a for a, i in known.Payload.model_fields.items() if i.is_required()} if known else set()
    done = {*(known.subject_fields if known else ()), *(_UNSAID - needed)}
    done |= {key for key in ("sex", "standing") if payload.get(key) in _ORDINARY and key not in needed}
    said: list[str] = []
    if isinstance(payload.get("how_many"), dict):
        said.append(amount(payload["how_many"]))
    if isinstance(payload.get("taxon"), str) and "taxon" not in done:
        said.append(called(payload["taxon"]))
    said += [
        f"{lead} {called(payload[key])}"
        for key, lead in (("from", "from"), ("to", "to"), ("enclosure", "in"))
        if isinstance(payload.get(key), str) and key not in done
    ]
    if "scheme" in payload:
        said.append(f"{payload['scheme'].replace('_', ' ')} {payload.get('value', '')}")
        done |= {"scheme", "value"}
    done |= {"how_many", "taxon", "from", "to", "enclosure", *texts}
    rest = [
        f"{key.replace('_', ' ')} {plain(value, called).replace('_', ' ')}"
        for key, value in payload.items()
        if key not in done
    ]
    quoted = [f"“{plain(payload[key], called)}”" for key in texts if key in payload and key not in _UNSAID]
    return "; ".join(part for part in (" ".join(said), ", ".join(rest), " ".join(quoted)) if part)


def tied(code: str, seq: int, *, back: bool) -> str:
    """`corrected by #815`, `completes #812`: mistake, slip and learnt told apart."""
    by, of = _TIES.get(code, ("superseded", "supersedes"))
    return f"{of} #{seq}" if back else f"{by} by #{seq}" if code != "slip" else f"slip, put right by #{seq}"


class Log:
    """The log of one store, entry by entry."""

    def __init__(self, store: Reader) -> None:
        self.store = store
        self._people = {event["payload"]["person"]["id"]: event["payload"] for event in self._of_kind("person")}

    def _of_kind(self, kind: str) -> list[dict[str, Any]]:
        return [json.loads(stored.data) for stored in self.store.events(kinds=(kind,))]

    def house(self) -> str:
        """The name of the first house."""
        return next((str(event["payload"].get("name", "")) for event in self._of_kind("house")), "")

    def called(self, text: str) -> str:
        """A person by the code, an event that another names by its number; all else is called as it was typed."""
        if text in self._people:
            return str(self._people[text].get("code", text))
        if _EVENT_ID.fullmatch(text):
            seq = self.store.seq_of("event_id", [text]).get(text)
            return f"#{seq}" if seq else text
        return text

    def person(self, code: str) -> str:
        """The id of the person of that code; empty where there is none."""
        return next((id_ for id_, payload in self._people.items() if payload.get("code") == code), "")

    def after(self, event_id: str) -> tuple[int, str, str] | None:
        """What supersedes an event: position, kind, code of the reason."""
        seq = self.store.seq_of("supersedes", [event_id]).get(event_id)
        if seq is None:
            return None
        event = json.loads(self.store.event(seq).data)
        return seq, event["kind"], (event["reason"] or {}).get("code", "")

    def before(self, event: Mapping[str, Any]) -> int:
        """The position of what an event supersedes; 0 where it supersedes nothing."""
        named = event["supersedes"]
        return self.store.by_event_id(named).columns.seq if named else 0

    def row(self, stored: StoredEvent) -> dict[str, Any]:
        """An entry as a row of the log."""
        event = json.loads(stored.data)
        content = content_of(self.store, event["seq"])
        kind, payload = event["kind"], content["payload"]
        old, new = self.before(event), self.after(event["event_id"])
        code, text = ((content["reason"] or {}).get(key, "") for key in ("code", "text"))
        said, subject = words(kind, payload, self.called), about(kind, payload, self.called)
        if kind == "void":
            gone = content_of(self.store, old)
            subject = about(gone["kind"], gone["payload"], self.called)
            said = f"strikes out #{old}, the {gone['kind'].replace('_', ' ')}"
        if isinstance(text, str) and text:
            said = f"{said}; “{text}”" if said else f"“{text}”"
        state = ""
        if new:
            state = f"struck out by #{new[0]}" if new[1] == "void" else tied(new[2], new[0], back=False)
        elif old and kind != "void":
            state = tied(code, old, back=True)
        return {
            "seq": event["seq"],
            "recorded": event["recorded"],
            "by": self.called(event["actor"]),
            "occurred": event["occurred"]["edtf"],
            "kind": kind,
            "subject": subject,
            "words": said,
            "state": state,
            "reason": code,
            "supersedes": old or None,
            "superseded_by": new[0] if new else None,
            "event_id": event["event_id"],
        }
