"""The hypothesis state machine: what people do to a book, in any order, with the oracle looking over their shoulder."""

from __future__ import annotations

import os
import random
import tempfile
from pathlib import Path
from typing import Any

import histories
from histories import SPAN, START, Pick
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule, run_state_machine_as_test

from oracle.again import told_again
from oracle.compare import TALLY
from oracle.trial import Trial

EXAMPLES = float(os.environ.get("TIDEMARK_EXAMPLES", "1"))  # scales every number of examples
SEED = int(os.environ.get("TIDEMARK_SEED", "20240304"))
# the message tells the whole history; shrinking it takes minutes and is asked for with TIDEMARK_SHRINK=1
PHASES = (Phase.generate, Phase.shrink) if os.environ.get("TIDEMARK_SHRINK") else (Phase.generate,)
STEPS = 20


def picker(number: int) -> Pick:
    """Choices of one step from one number: hypothesis leaves steps out, and a step stays what it was."""
    return random.Random(number).randrange


NUMBERS = st.integers(0, 2**40)


class Books(RuleBasedStateMachine):
    """Append, late entry, correct, correct again, strike out, record twice, batches, ask, reopen."""

    in_file = False

    @initialize(number=NUMBERS)
    def begin(self, number: int) -> None:
        self.folder = tempfile.TemporaryDirectory() if self.in_file else None
        path = str(Path(self.folder.name) / "book.db") if self.folder else ":memory:"
        self.trial = Trial(path)
        pick = picker(number)
        for _ in range(1 + pick(3)):
            self.trial.send([histories.arrival(pick, self.trial.scene, START + pick(3))])

    @rule(number=NUMBERS)
    def record(self, number: int) -> None:
        """One entry, now and then a late one."""
        entry = histories.entry(picker(number), self.trial.scene)
        if entry:
            self.trial.send([entry])
            self._ask(number)

    @rule(number=NUMBERS)
    def record_too(self, number: int) -> None:
        """The same: recording is what people do most."""
        self.record(number)

    @rule(number=NUMBERS)
    def record_more(self, number: int) -> None:
        self.record(number)

    @rule(number=NUMBERS)
    def record_several(self, number: int) -> None:
        """A batch: it lands whole or not at all."""
        pick = picker(number)
        entries = [histories.entry(pick, self.trial.scene) for _ in range(2 + pick(2))]
        batch = [e for e in entries if e]
        if batch:
            self.trial.send(batch)
            self._ask(number)

    @rule(number=NUMBERS)
    def enter_anew(self, number: int) -> None:
        """One batch strikes an entry out and enters another in its place."""
        pick = picker(number)
        seq = histories.struck(pick, self.trial.scene)
        entry = histories.entry(pick, self.trial.scene)
        if seq and entry:
            event = self.trial.oracle.events[seq - 1]
            void: dict[str, Any] = {"kind": "void", "occurred": event["occurred"]["edtf"], "payload": {}}
            void |= {"supersedes": event["event_id"], "reason": {"code": "mistake"}}
            self.trial.send([void, entry])
            self._ask(number)

    @rule(number=NUMBERS)
    def correct(self, number: int) -> None:
        """A correction, of a correction as well."""
        found = histories.correction(picker(number), self.trial.scene)
        if found:
            self.trial.correct(*found)
            self._ask(number)

    @rule(number=NUMBERS)
    def strike_out(self, number: int) -> None:
        seq = histories.struck(picker(number), self.trial.scene)
        if seq:
            self.trial.strike(seq)
            self._ask(number)

    @rule(nth=st.integers(0, 40))
    def record_twice(self, nth: int) -> None:
        self.trial.repeat(nth)

    @precondition(lambda self: self.in_file)
    @rule()
    def close_and_open(self) -> None:
        self.trial.reopen()

    def _ask(self, number: int) -> None:
        pick = picker(number + 1)
        on = START - 2 + pick(SPAN + 6)
        known = self.trial.ends[-1 - min(pick(4), len(self.trial.ends) - 1)] if pick(3) == 0 else self.trial.known
        self.trial.compare(on, known)
        self.trial.ranges(START - 2 + pick(SPAN + 6), self.trial.known)

    def teardown(self) -> None:
        if not hasattr(self, "trial"):
            return
        trial = self.trial
        for on in range(START - 2, START + SPAN + 4, 5):
            trial.compare(on, trial.known)
            trial.ranges(on, trial.known)
        trial.still()
        trial.days(trial.known)
        if trial.sent % 4 == 0:
            told_again(trial)
        TALLY["books"] += 1
        trial.book.close()
        if self.folder:
            self.folder.cleanup()


def run(examples: int, part: int, in_file: bool = False) -> None:
    """So many random books (scaled by TIDEMARK_EXAMPLES); every part draws others."""
    machine = type(f"Books{part}", (Books,), {"in_file": in_file})
    run_state_machine_as_test(
        seed(SEED + part)(machine),
        settings=settings(
            max_examples=max(1, round(examples * EXAMPLES)),
            stateful_step_count=STEPS,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
            phases=PHASES,
            print_blob=True,
        ),
    )
