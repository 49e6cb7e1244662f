"""Books of a made-up world: by the door in (`Book.append`), and in bulk, by the same bytes, chain, fold and rows."""

from __future__ import annotations

import gc
from collections.abc import Callable
from datetime import date
from typing import Any, NamedTuple

from ledger import kinds, new_book
from ledger.admission import Judged, Touched, differences, mentioned
from ledger.book import Book
from ledger.chance import SeededChance
from ledger.index import Standing, _dated
from ledger.sealing import seal_batch
from ledger.snapshots import Telling, gone_on, telling
from tests.bench.world import FIRST_HOUSE, PERSON, Event, World


class Chance(SeededChance):
    """A simulated clock; ids of things are those that the world has made."""

    ids: list[str]

    def __init__(self, seed: int) -> None:
        super().__init__(seed, "2003-12-30T08:00:00Z")
        self.ids = []

    def new_id(self, prefix: str) -> str:
        """The next of the world's ids."""
        if not self.ids:
            return super().new_id(prefix)
        made = self.ids.pop(0)
        assert made.startswith(prefix), (made, prefix)
        return made


def begin(place: str, seed: int, **shape: float) -> tuple[Book, Chance, World]:
    """A book with its first three events, and the world it is to tell of."""
    chance = Chance(seed)
    book = new_book(place, person=PERSON, house=FIRST_HOUSE, chance=chance)
    house = next(iter(book.index.houses))
    return book, chance, World(seed, house, **shape)


def by_the_door(book: Book, chance: Chance, world: World, events: int) -> None:
    """Every batch through `Book.append`, as people type it."""
    for batch in world.batches(events):
        chance.at(batch.at)
        chance.ids += world.ids
        world.ids.clear()
        out = book.append([event.typed() for event in batch.events], by="BK")
        assert out.landed, out.findings[0].sentence()


class Drafted(NamedTuple):
    """What sealing asks of a draft."""

    standing: Standing
    content: dict[str, Any]
    number: int
    texts: tuple[()] = ()


class Bulk:
    """Writes batches of stored forms: no names, no checks, no index; acts, fold, chain and rows are the book's own."""

    def __init__(self, store: Any, chance: Chance, actor: str) -> None:
        self.store, self.chance, self.actor = store, chance, actor
        self.position = store.head().position
        self.roots: dict[str, tuple[int, Standing]] = {}  # of what can still be superseded
        self.tellings: dict[str, Telling] = {}

    def write(self, events: list[Event], at: str, tx: Any) -> None:
        """One batch, in an open transaction of the store."""
        self.chance.at(at)
        head = tx.head()
        moment = self.chance.moment(head.recorded)
        start = self.position
        touched: dict[str, Touched] = {}
        drafts, subjects = [], []
        for number, event in enumerate(events):
            standing = self._stands(event, touched)
            subjects += [(s, standing.seq) for s in mentioned(standing)]
            drafts.append(Drafted(standing, event.content(), number))
        postings, rows = differences(touched, start, self.position)
        judged = Judged(drafts, [], postings, rows, subjects)  # type: ignore[arg-type]  # drafts of the same form
        tx.append(seal_batch(judged, (), {}, head, moment, self.actor, "stated", self.chance), head)

    def _stands(self, event: Event, touched: dict[str, Touched]) -> Standing:
        self.position = seq = self.position + 1
        kind = kinds.KINDS[event.kind]
        payload = kind.read(event.payload, 1)
        void = event.kind == "void"
        root, old = self.roots.pop(event.supersedes) if event.supersedes else (seq, None)
        first, last = (date.fromisoformat(d).toordinal() for d in (event.first, event.last))
        acts = () if void else kind.acts(payload)
        standing = Standing(seq, root, event.event_id, event.kind, payload, acts, first, last, event.edtf, "")
        if event.kind in ("move", "measurement", "hatching"):
            self.roots[event.event_id] = (root, standing)
        for subject in dict.fromkeys([*(old.subjects() if old else []), *standing.subjects()]):
            known = self.tellings.get(subject)
            if known is None:
                known = telling([])
            if subject not in touched:
                touched[subject] = Touched(known)
            now = gone_on(known, root, [] if void else _dated(standing, subject))
            self.tellings[subject] = now
            touched[subject].steps.append((seq, now))
        return standing


def in_bulk(book: Book, chance: Chance, world: World, events: int, said: Callable[[int], None] | None = None) -> None:
    """The whole world in bulk, one transaction of the store a hundred batches."""
    bulk = Bulk(book.store, chance, book.index.find(("person",), "BK")[0])
    gc.collect()
    gc.freeze()
    gc.disable()
    try:
        pages = world.batches(events)
        batch = next(pages, None)
        while batch is not None:
            with bulk.store.begin() as tx:
                for _ in range(100):
                    if batch is None:
                        break
                    bulk.write(batch.events, batch.at, tx)
                    batch = next(pages, None)
            if said:
                said(bulk.position)
    finally:
        gc.enable()
        gc.unfreeze()
