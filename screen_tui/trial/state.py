"""One trial of one test, from ready to kept, as data; what is done to it is in `actions`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Literal

from screen_tui.engine.measures import HANDS_USED
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Sign
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.timing import Phase, Timer, TrustWatch
from screen_tui.trial.entry import Entry
from screen_tui.trial.input import TrialInput
from screen_tui.trial.keymap import KEYMAP, Keymap
from screen_tui.trial.series import Series
from screen_tui.trial.set_up import Noted

Prompt = Literal["", "pain", "strike", "ended"]
"""What the next key chooses."""


def _timer(spec: TestSpec, steps: int | None, *, tapped: bool) -> Timer:
    return spec.timer.timer(steps) if tapped else spec.timer.plain_timer(steps)


def _digit(sign: Sign) -> int:
    return sign.digit


@dataclass(frozen=True)
class TrialState:
    """A trial.

    Attributes:
        spec: The test.
        side: The leg, None for a two-legged test.
        signs: The signs that can be marked, in the order of their digits.
        series: The trials before this one.
        count_in: Seconds counted down before the start; 0 for none.
        input: What hands have done.
        entry: Numbers that are typed.
        set_up: What was noted on the set-up; it is recorded with the trial.
        history: What `input` was before each thing done by hand.
        keymap: What each key does.
        rest_until: Monotonic seconds up to which a rest is counted down before the start; None for
            none. A start ends it.
        first_leg: The leg offered first for a sign of a two-legged test: that of the complaint.
        watch: What may have disturbed the timing.
        clocks: Wall and monotonic time, read together just before the start; None until read.
        prompt: What the next key chooses.
        question: A doubt that a second Enter overrules.
        error: Why the last key was refused.
        hint: A remark about the last key.
        bell: The target or the end was reached by the last key or tick.
        rang_at: When that was.
        record: The finished trial, once it is kept or struck out (`Trial.void`). The screen adds
            it to the session, with the date and time, and goes on with `again`.
    """

    spec: TestSpec
    side: Side | None
    signs: tuple[Sign, ...]
    series: Series
    count_in: float
    input: TrialInput
    entry: Entry
    set_up: Noted = field(default_factory=dict)
    history: tuple[TrialInput, ...] = ()
    keymap: Keymap = KEYMAP
    rest_until: float | None = None
    first_leg: Side = "left"
    watch: TrustWatch = field(default_factory=TrustWatch)
    clocks: tuple[datetime, float] | None = None
    prompt: Prompt = ""
    question: str = ""
    error: str = ""
    hint: str = ""
    bell: bool = False
    rang_at: float | None = None
    record: Trial | None = None

    @classmethod
    def at(
        cls,
        spec: TestSpec,
        side: Side | None,
        signs: Iterable[Sign],
        trials_before: tuple[Trial, ...] = (),
        cue: str = "",
        *,
        count_in: float = 0.0,
        set_up: Noted | None = None,
        first_leg: Side = "left",
        tapped: bool = False,
    ) -> TrialState:
        """Give a trial that is ready.

        Args:
            spec: The test.
            side: The leg, None for a two-legged test.
            signs: The signs of the protocol; those of other tests are left out.
            trials_before: Trials of the session so far; those of other tests are left out.
            cue: The id of the cue when this is a cued repeat.
            count_in: Seconds counted down between the start key and the start; 0 for none.
            set_up: What was noted on the set-up so far.
            first_leg: The leg offered first for a sign of a two-legged test.
            tapped: Time each step, where that can be chosen.
        """
        series = Series.of(spec, side, cue, trials_before)
        steps = series.steps
        fields = spec.timer.numbers
        return cls(
            spec=spec,
            side=side,
            signs=tuple(sorted((one for one in signs if one.id in spec.signs), key=_digit)),
            series=series,
            count_in=count_in,
            input=TrialInput(
                _timer(spec, steps, tapped=tapped),
                direction=series.direction,
                steps=steps,
                tapped=tapped,
            ),
            entry=Entry.of(fields, with_signs=bool(fields and spec.signs)),
            set_up=set_up or {},
            first_leg=first_leg,
        )

    def again(self) -> TrialState:
        """Give the next trial of the same test, after this one was kept."""
        before = self.series.trials if self.record is None else (*self.series.trials, self.record)
        return TrialState.at(
            self.spec,
            self.side,
            self.signs,
            before,
            self.series.cue,
            count_in=self.count_in,
            set_up=self.set_up,
            first_leg=self.first_leg,
            tapped=self.input.tapped,
        )

    def with_flight(self, steps: int | None, *, tapped: bool) -> TrialInput:
        """Give what hands have done, with another flight or another way to time it."""
        timer = _timer(self.spec, steps, tapped=tapped)
        return replace(self.input, steps=steps, tapped=tapped, timer=timer)

    def with_set_up(self, noted: Noted) -> TrialState:
        """Give the same trial with another set-up noted; nothing else changes."""
        return replace(self, set_up=noted)

    @property
    def sign_of_a_leg(self) -> str | None:
        """The last sign of a two-legged test, whose leg can be said; None where there is none."""
        marks = self.input.marks if self.side is None else ()
        return marks[-1] if marks else None

    @property
    def undoable(self) -> bool:
        """Whether Backspace has something to take back."""
        waiting = bool(self.prompt) or bool(self.entry.text)
        return self.record is None and (waiting or bool(self.history))

    @property
    def busy(self) -> bool:
        """Whether a trial is counting in, running or asking: the screen must not be left now."""
        given = self.input
        return self.record is None and (
            given.counting_in or given.running or given.timer.asking or self.in_doubt
        )

    @property
    def in_doubt(self) -> bool:
        """Whether it has to be said whether the value is right: the computer stood still."""
        timer = self.input.timer
        if timer.phase is not Phase.ENDED or self.input.confirmed:
            return False
        return timer.value is not None and self.stood_still_s > 0

    @property
    def stood_still_s(self) -> float:
        """Seconds the computer stood still in the trial so far; 0 where it did not."""
        if not self.spec.timer.clocked or self.input.phase is Phase.READY:
            return 0.0
        end = self.input.timer.ended
        return self.watch.stood_still_s(float("inf") if end is None else end)

    @property
    def unsaved(self) -> bool:
        """Whether anything was entered that is not kept yet; the flight of stairs aside."""
        return self.record is None and (self.input.begun or self.entry.touched)

    @property
    def series_complete(self) -> bool:
        """Whether the trials that count, with the kept one, make a full series."""
        return self.series.with_trial(self.record).complete

    @property
    def ended(self) -> bool:
        """Whether Enter would keep the trial, as far as the timer is concerned."""
        return self.input.timer.over and not self.in_doubt

    @property
    def stopped_without_reason(self) -> bool:
        """Whether it was stopped early and nobody has said why, so that it cannot be saved yet.

        What such a trial says depends on the reason.
        """
        given = self.input
        excused = given.ended or given.manual_value or HANDS_USED in given.signs
        return self.ended and given.timer.incomplete and not excused
