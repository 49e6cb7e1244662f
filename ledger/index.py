"""What stands, held in memory: the newest event of each line of corrections, names, and who each event touches.

Built by reading the log once; every change can be taken back, so a batch is tried here and undone if refused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from ledger.acts import Cell, Entry, Step
from ledger.fold import cells_on
from ledger.lookup import Key, keys_of, skeletons
from ledger.snapshots import Telling, gone_on, telling
from ledger.things import SUBJECTS, Standing, Thing, build, in_order, introduced, namespace

__all__ = ["SUBJECTS", "Index", "Standing", "Thing", "namespace"]


class Index:
    """Names and standing events at one position of the log."""

    def __init__(self) -> None:
        self.floor = 1  # the book's first day, from its genesis on
        self.position = 0
        self.standing: dict[int, Standing] = {}
        self.root_of: dict[int, int] = {}
        self.newest: dict[int, int] = {}  # root -> newest seq of its line, struck out or not
        self.by_id: dict[str, int] = {}
        self.of_subject: dict[str, set[int]] = {}
        self.row_keys: dict[str, int] = {}
        self.things: dict[str, Thing] = {}
        self.houses: dict[str, None] = {}  # members, in the order of their coming
        self.made_by: dict[str, int] = {}  # id -> root of the event that introduced it
        self.names: dict[tuple[str, str, str], str] = {}  # (namespace, house, text) -> id
        self.borne: dict[tuple[str, str], tuple[str, ...]] = {}  # (namespace, text) -> houses where it is borne
        self.named: dict[Key, list[int]] = {}  # key of `lookup` -> roots of events that ever bore it
        self.alike: dict[tuple[str, str], list[str]] = {}  # (house, skeleton of a number) -> ids that ever bore one
        self.told: dict[str, Telling] = {}  # a cache
        self._undo: list[Callable[[], object]] = []

    # --- taking changes back ------------------------------------------------------------------

    def mark(self) -> int:
        """A point to which `back_to` returns."""
        return len(self._undo)

    def back_to(self, mark: int) -> None:
        """Undo everything since the mark."""
        while len(self._undo) > mark:
            self._undo.pop()()

    def forget_undo(self) -> None:
        """What happened so far is final."""
        self._undo.clear()

    def _set(self, table: dict[Any, Any], key: Any, value: Any) -> None:
        if key in table:
            old = table[key]
            self._undo.append(lambda: table.__setitem__(key, old))
        else:
            self._undo.append(lambda: table.pop(key, None))
        table[key] = value

    def _drop(self, table: dict[Any, Any], key: Any) -> None:
        if key in table:
            old = table.pop(key)
            self._undo.append(lambda: table.__setitem__(key, old))

    def _append(self, table: dict[Any, list[Any]], key: Any, value: Any) -> None:
        held = table.get(key)
        if held is None:
            table[key] = [value]
            self._undo.append(lambda: table.pop(key))
        elif held[-1] != value:
            held.append(value)
            self._undo.append(held.pop)

    # --- events ---------------------------------------------------------------------------------

    def apply(self, new: Standing, supersedes: int | None, row_key: str | None) -> list[str]:
        """Let an event stand, or strike out what it supersedes; answers the subjects it touches."""
        root = new.root
        old = self.standing.get(root) if supersedes else None
        self._set(self.by_id, new.event_id, new.seq)
        self._set(self.root_of, new.seq, root)
        self._set(self.newest, root, new.seq)
        before = self.position
        self.position = new.seq
        self._undo.append(lambda: setattr(self, "position", before))
        if new.kind == "book":
            self.floor = date.fromisoformat(getattr(new.payload, "floor")).toordinal()  # noqa: B009 - of that kind
        if row_key:
            self._set(self.row_keys, row_key, new.seq)
        touched = list(dict.fromkeys([*(old.subjects() if old else []), *new.subjects()]))
        if new.kind == "void":
            self._drop(self.standing, root)
        else:
            if old is not None and old.accepted:  # what was accepted once is not asked again
                new = new._replace(accepted=tuple(dict.fromkeys((*old.accepted, *new.accepted))))
            self._set(self.standing, root, new)
            for key in keys_of(new):
                self._append(self.named, key, root)
            for subject in new.subjects():
                roots = self.of_subject.get(subject) or set()
                if root not in roots:
                    self._set(self.of_subject, subject, roots | {root})
        self._register(root, old, None if new.kind == "void" else new)
        for subject in touched:
            self._tell_on(subject, root)
        return touched

    def _tell_on(self, subject: str, root: int) -> None:
        """Its telling, where one is kept, goes on with what the root of an event says now."""
        known = self.told.get(subject)
        if known is not None:
            event = self.standing.get(root)
            self._set(self.told, subject, gone_on(known, root, _dated(event, subject) if event else []))

    def accept(self, root: int, codes: tuple[str, ...]) -> None:
        """The warnings that a person accepted with an event."""
        event = self.standing.get(root)
        if event is not None and codes:
            accepted = tuple(dict.fromkeys((*event.accepted, *codes)))
            self._set(self.standing, root, event._replace(accepted=accepted))

    def naming(self, *key: str | int) -> Iterator[Standing]:
        """Standing events that bear a key of `lookup`, in the order in which they came to bear it."""
        for root in dict.fromkeys(self.named.get(key, ())):
            event = self.standing.get(root)
            if event is not None and key in keys_of(event):
                yield event

    def seq_of(self, named: object) -> int | None:
        """Position of an event named `#12`, `12`, 12 or by its UUID; None where there is none."""
        if isinstance(named, int) and not isinstance(named, bool):
            return named if named in self.root_of else None
        if not isinstance(named, str):
            return None
        text = named.strip().lower()
        digits = text.removeprefix("#")
        if digits.isascii() and digits.isdigit() and len(digits) < 12:
            return int(digits) if int(digits) in self.root_of else None
        return self.by_id.get(text)

    def entries(self, subject: str, without: int = 0) -> list[Entry]:
        """Dated acts of one subject's standing events, those of one root left out if asked."""
        known = self.told.get(subject)
        if known is not None:
            return [entry for entry in known.entries if entry.root != without]
        standing = (self.standing.get(r) for r in sorted(self.of_subject.get(subject, ())) if r != without)
        return [entry for event in standing if event for entry in _dated(event, subject)]

    def tale(self, subject: str) -> Telling:
        """The subject's history told, kept until it changes."""
        found = self.told.get(subject)
        if found is None:
            found = telling(self.entries(subject))
            self._set(self.told, subject, found)
        return found

    def cells(self, subject: str, day: int, without: int = 0, *, latest: bool = False) -> dict[Cell, int]:
        """Where its animals stand at the close of a day; `latest`: all that could have happened by then has."""
        told = self.tale(subject)
        if day >= told.end and (without > told.newest or not without):  # all of it has happened by then
            return dict(told.state.cells)
        return cells_on(self.entries(subject, without), day, latest=latest)

    # --- names ----------------------------------------------------------------------------------

    def _register(self, root: int, old: Standing | None, new: Standing | None) -> None:
        """Take back what an event introduced or changed, and let the new one introduce it."""
        concerned = {ref.id: sort for event in (old, new) if event for sort, ref, _ in introduced(event)}
        for id_, sort in concerned.items():
            if id_ is None:
                continue
            if self.made_by.get(id_, root) == root:
                if new is None:
                    self._pass_on(id_, root)
                else:
                    self._set(self.made_by, id_, root)
            self._refresh(id_, sort, root, new)

    def _pass_on(self, id_: str, root: int) -> None:
        """What made a thing is struck out: an outside animal that has arrived is made by its arrival from now on."""
        arrivals = [r for r in self.of_subject.get(id_, ()) if r != root and self._opens(r, id_)]
        if arrivals:
            self._set(self.made_by, id_, min(arrivals))
        else:
            self._drop(self.made_by, id_)

    def _opens(self, root: int, subject: str) -> bool:
        event = self.standing.get(root)
        return event is not None and any(a.subject == subject and a.step is Step.OPEN for a in event.acts)

    def arrived(self, subject: str, without: int = 0) -> bool:
        """Tell whether a standing event other than `without` brings it into the book."""
        return any(r != without and self._opens(r, subject) for r in self.of_subject.get(subject, ()))

    def outside(self, subject: str) -> bool:
        """Tell whether it is an outside animal that has not arrived."""
        thing = self.things.get(subject)
        return thing is not None and thing.sort == "animal" and not self.arrived(subject)

    def fields_on(self, id_: str, day: int) -> dict[str, Any]:
        """What the register says about a thing on a day: as it was made, with the changes by then."""
        thing = self.things.get(id_)
        if thing is None:
            return {}
        made = self.made_by.get(id_)
        standing = (self.standing.get(root) for root in thing.fields["_roots"])
        return build(id_, thing.sort, in_order((e for e in standing if e), made, until=day)).fields

    def _refresh(self, id_: str, sort: str, root: int, new: Standing | None) -> None:
        was = self.things.get(id_)
        roots = set(was.fields.get("_roots", ())) if was else set()
        roots = roots - {root} if new is None else roots | {root}
        if was is not None:
            for key in was.fields["_keys"]:
                if self.names.get(key) == id_:
                    self._drop(self.names, key)
                    self._bear(key, borne=False)
        made = self.made_by.get(id_)
        if made is None or made not in self.standing:
            self._drop(self.things, id_)
            return
        thing = build(id_, sort, in_order((self.standing[r] for r in roots if r in self.standing), made))
        thing.fields["_roots"] = roots
        self._set(self.things, id_, thing)
        if sort == "house":
            self._set(self.houses, id_, None)
        for key in thing.fields["_keys"]:
            self._set(self.names, key, id_)
            self._bear(key, borne=True)
            if sort in SUBJECTS:
                for skeleton in skeletons(key[2]):
                    self._append(self.alike, (key[1], skeleton), id_)

    def _bear(self, key: tuple[str, str, str], *, borne: bool) -> None:
        """Keep the houses at which a text is borne, so that a search asks none of the others."""
        space, house, text = key
        houses = self.borne.get((space, text), ())
        if house and borne != (house in houses):
            kept = (*houses, house) if borne else tuple(h for h in houses if h != house)
            self._set(self.borne, (space, text), kept)

    def find(self, sorts: tuple[str, ...], text: str) -> list[str]:
        """Ids that a text names among these sorts: none, one, or (numbers of two houses) several."""
        if text in self.things and self.things[text].sort in sorts:
            return [text]
        found: list[str | None] = []
        for space in dict.fromkeys(namespace(sort) for sort in sorts):
            if space != "subject":
                found.append(self.names.get((space, "", text)) or self.names.get((f"former {space}", "", text)))
                continue
            before = len(found)
            code, colon, rest = text.partition(":")
            house = self.names.get(("party", "", code)) if colon else None
            if house:
                found += [self.names.get((space, house, rest)), self.names.get((space, house, text))]
            else:
                borne = self.borne.get((space, text), ())
                at = self.houses if len(borne) > 1 else borne  # of several, in the order of their coming
                found += [self.names.get((space, h, text)) for h in at if h in self.houses]
            if not any(found[before:]):  # an outside animal, by its number where it lives
                found.append(self.names.get((space, "", text)))
        unique = list(dict.fromkeys(i for i in found if i))
        return [i for i in unique if self.things[i].sort in sorts]

    def name(self, id_: str) -> str:
        """What a thing is called now."""
        thing = self.things.get(id_)
        return thing.code if thing else id_

    def of_sort(self, sort: str) -> Iterator[Thing]:
        """Things of one sort, in the order of their making."""
        return (t for t in list(self.things.values()) if t.sort == sort)


def _dated(event: Standing, subject: str) -> list[Entry]:
    """Dated acts of an event on one subject."""
    out = []
    for act in event.acts:
        if act.subject == subject:
            first, last = event.first, event.last
            if act.since and act.since != "origin":
                first = last = date.fromisoformat(act.since).toordinal()
            out.append(Entry(act, first, last, event.root))
    return out
