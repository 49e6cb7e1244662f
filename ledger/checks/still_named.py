"""What is struck out is named by nobody.

Finds the striking out of an entry that brought an animal or a lot into the book, while other entries still name it: as
dam or sire of young, as mate or mother of a brood, in a note or a measurement. `strike-out --with-all` strikes those
out with it, and takes the name out of entries about others.
Source: derived; every name in the book leads to somebody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.checks.base import Batch, refs, say
from ledger.findings import Finding
from ledger.things import SUBJECTS, introduced

CODES = ("still-named",)


def check(batch: Batch) -> Iterator[Finding]:
    """One finding for each animal or lot that would be gone."""
    for draft in batch.drafts:
        old = draft.old
        if old is None or draft.standing.kind != "void" or old.kind == "outside_animal":  # the last is of the register
            continue
        brought = [(ref.id, ref.as_) for sort, ref, _ in introduced(old) if sort in SUBJECTS]
        for id_, called in dict.fromkeys(brought):
            if not id_ or id_ in batch.index.things:
                continue
            users = {e.root: e for key in ("young", "named") for e in batch.index.naming(key, id_)}
            if users:
                user = users[min(users)]
                how = next((field for field, i in refs(user.payload) if i == id_ and field in ("dam", "sire")), "")
                more = f", and {len(users) - 1} more" if len(users) > 1 else ""
                yield draft.at.finding(
                    "still-named",
                    f"{say(batch.index, user)} names {called or id_}{f' as the {how}' if how else ''}{more}",
                    "an animal that no other entry names",
                    "Correct or strike out those entries in the same batch: --with-all does so.",
                    "",
                    user.seq,
                )
