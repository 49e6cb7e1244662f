"""A finding is a value: what was found, what was expected, the way out. Codes are numbered once and never reused."""

from __future__ import annotations

from typing import Literal, NamedTuple

Weight = Literal["refused", "conflict", "warning"]


class Code(NamedTuple):
    """A kind of finding: its number, the name that is shown, its weight, what it means."""

    number: int
    name: str
    weight: Weight
    meaning: str


CODES: tuple[Code, ...] = (
    # --- the entry itself --------------------------------------------------------------------
    Code(1, "not-an-entry", "refused", "the line is not an entry, or has a key an entry cannot have"),
    Code(2, "unknown-kind", "refused", "no such kind of event"),
    Code(3, "bad-field", "refused", "a field is missing, unknown, or not of the form it must have"),
    Code(4, "not-yet", "refused", "a field that a later version of Tidemark will take"),
    Code(5, "bad-date", "refused", "not a date that names a day in a known range"),
    Code(6, "after-recording", "refused", "nothing can have occurred after it was recorded"),
    Code(7, "before-floor", "refused", "before the first day the book keeps"),
    Code(8, "needs-one-day", "refused", "this kind needs one day, not a range"),
    Code(9, "too-large", "refused", "an event is at most 64 KiB and eight levels deep"),
    # --- names ---------------------------------------------------------------------------------
    Code(20, "unknown-name", "refused", "nothing of that name is in the book"),
    Code(21, "ambiguous-name", "refused", "the name is used by more than one house"),
    Code(22, "number-in-use", "refused", "the accession number or code is in standing use"),
    Code(23, "not-open", "refused", "not in use on that day: opened later, or closed"),
    Code(24, "unknown-person", "refused", "no such person"),
    # --- corrections -----------------------------------------------------------------------------
    Code(30, "unknown-event", "refused", "no such event"),
    Code(31, "not-the-newest", "conflict", "superseded already; only the newest can be"),
    Code(32, "struck-out", "conflict", "struck out; that is final"),
    Code(33, "other-kind", "refused", "a correction keeps the kind"),
    Code(34, "other-subject", "refused", "a correction keeps its subjects"),
    Code(35, "never-superseded", "refused", "this kind is never superseded"),
    Code(36, "id-with-other-content", "conflict", "the event id is recorded with other content"),
    Code(37, "not-only-learnt", "refused", "`learnt` fills only what was empty and moves no figure"),
    Code(38, "nothing-changed", "refused", "the correction says what already stands"),
    # --- the fold --------------------------------------------------------------------------------
    Code(50, "not-there", "refused", "the subject is not there on that day"),
    Code(51, "second-arrival", "refused", "it has arrived already"),
    Code(52, "no-number", "refused", "an arrival of nobody"),
    Code(53, "not-one", "refused", "one animal is one"),
    Code(54, "too-few", "refused", "fewer are there than are to go"),
    Code(55, "other-taxon", "refused", "the lot is of another taxon on that day"),
    Code(56, "which-owner", "refused", "animals of several owners stand there; say whose"),
    Code(57, "terms-against-title", "refused", "the terms do not fit who owns it"),
    Code(58, "already-there", "refused", "it is there already"),
    Code(59, "sex-known", "refused", "the animal has another sex already"),
    Code(60, "other-sex", "refused", "the animal does not have the sex it is to change from"),
    Code(61, "order-assumed", "refused", "two ranges overlap and their order matters"),
    Code(62, "which-stay", "refused", "the range reaches two stays"),
    Code(63, "straddles-a-count", "refused", "the range has days on both sides of a count"),
    Code(64, "no-possible-day", "refused", "its other events leave it no possible day"),
    Code(65, "sides-do-not-meet", "refused", "the two lots do not agree on what passed between them"),
    Code(66, "not-since-origin", "refused", "only an individual's arrival can be restated"),
    Code(67, "sex-unchanged", "refused", "it has that sex already"),
    # --- across events -----------------------------------------------------------------------------
    Code(80, "parent-too-young", "refused", "a parent born after its young"),
    Code(81, "own-ancestor", "refused", "an animal its own ancestor"),
    Code(82, "another-house", "refused", "the enclosure belongs to another house"),
    Code(83, "bad-mark", "refused", "not a number such a mark can bear"),
    Code(84, "mark-not-borne", "refused", "the animal does not bear that mark"),
    Code(85, "cites-code", "refused", "the source code does not stand alone, or is for plants"),
    Code(86, "enclosure-occupied", "refused", "animals stand in an enclosure that is to close"),
    Code(87, "own-parent-enclosure", "refused", "an enclosure inside itself"),
    Code(88, "not-dead", "refused", "remains of an animal that has not died"),
    Code(89, "not-to-be-seen", "refused", "a sighting of an animal that is not in the house on that day"),
    Code(90, "still-named", "refused", "struck out, and other entries still name it"),
    Code(91, "dam-is-sire", "refused", "one animal as dam and sire, in a taxon that cannot be both"),
    Code(92, "before-then", "refused", "what the entry says was earlier is later than it"),
    Code(94, "not-yet-seen", "refused", "something said to have been seen after the entry was recorded"),
    Code(95, "body-without-count", "refused", "a death out of a count that is of another day, or gone"),
    # --- warnings ------------------------------------------------------------------------------------
    Code(120, "against-system", "warning", "the change does not fit the taxon's sexual system"),
    Code(121, "parent-absent", "warning", "a dam or sire not in the house at the time"),
    Code(122, "parent-sex", "warning", "a dam or sire of a sex that does not fit"),
    Code(123, "mark-on-two", "warning", "the same transponder on two animals"),
    Code(124, "permit-missing", "warning", "the taxon's listing asks for a permit"),
    Code(125, "late", "warning", "recorded many days after it occurred"),
    Code(126, "very-like", "warning", "something very like it already stands"),
    Code(127, "number-very-like", "warning", "an accession number very like another"),
    Code(128, "two-owners", "warning", "animals of two owners in one lot"),
    Code(129, "loss-turned-gain", "warning", "a late entry turns a count's loss into a gain"),
    Code(130, "since-birth-in-changer", "warning", "since birth, in a taxon that changes sex"),
    Code(131, "two-taxa", "warning", "dam and sire of two taxa"),
    Code(132, "test-transponder", "warning", "a transponder code set aside for tests"),
    Code(133, "permit-expired", "warning", "a permit that is not valid on that day"),
    Code(140, "already-paired", "warning", "a mate besides the one it has, in a taxon of one mate"),
    Code(141, "not-paired", "warning", "a parting of two that are no pair"),
    Code(142, "brood-over", "warning", "an entry about a brood after its end"),
    Code(143, "young-exceed-eggs", "warning", "more young than exactly counted eggs"),
    Code(144, "names-absent", "warning", "it names an animal that was not there, or no longer"),
    Code(145, "not-of-the-unit", "warning", "an order that names animals of another unit"),
    Code(146, "pair-of-two-taxa", "warning", "two of different taxa as a pair"),
)
BY_NAME = {code.name: code for code in CODES}


class Finding(NamedTuple):
    """One thing found: `where` names the entry, in words a person can look up."""

    code: str
    where: str  # "line 3 (death of MS-2024-0117)"
    found: str
    expected: str
    way_out: str
    field: str = ""
    entry: int = -1  # which entry of the batch, from 0; -1: the batch
    event: int = 0  # a standing event that is concerned, by position; 0: none

    @property
    def weight(self) -> Weight:
        """Refused, conflict or warning."""
        return BY_NAME[self.code].weight

    def sentence(self) -> str:
        """Where, what was found, what was expected, the way out: one line."""
        return f"{self.where}: {self.found}; expected {self.expected}. {self.way_out}"
