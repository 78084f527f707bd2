"""One trial of one test, from ready to saved, as data; what is done to it is in `actions`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Literal

from screen_tui.engine.measures import HANDS_USED
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Sign
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import MOST_SEEN, SignLeg, Trial
from screen_tui.timing.spec import OF_ANY, Direction
from screen_tui.timing.timer import Phase, Timer
from screen_tui.timing.trust import CLOCK_DIFFERENCE_S, TrustWatch
from screen_tui.trial.keymap import KEYMAP, Keymap
from screen_tui.trial.numbers import Entry
from screen_tui.trial.series import Series
from screen_tui.trial.set_up import Noted

Prompt = Literal["", "pain", "void", "ended"]
"""What the next key chooses."""


@dataclass(frozen=True, slots=True)
class TrialInput:
    """What was done by hand in a trial: all that Backspace can undo.

    Attributes:
        go_at: Time at which a count-in starts the timer; None when none was begun.
        marks: Ids of the signs seen, one for each press.
        sign_times: (id, seconds since the start) of those first marked while something went on.
        sign_legs: (id, leg) of those that are of one known leg or of both.
        watched: Watched throughout, so that what is not marked was not there.
        ended: The id of why it ended, or "".
        tapped: Each step is timed by a press of its own.
        manual_value: The value typed by hand instead of the timed one, and why; None for none.
        confirmed: The value is right though the computer did nothing for a while.
    """

    timer: Timer
    go_at: float | None = None
    marks: tuple[str, ...] = ()
    sign_times: tuple[tuple[str, float], ...] = ()
    sign_legs: tuple[tuple[str, SignLeg], ...] = ()
    watched: bool = False
    pain: int | None = None
    ended: str = ""
    direction: Direction | None = None
    steps: int | None = None
    tapped: bool = False
    note: str = ""
    manual_value: tuple[str, str] | None = None
    confirmed: bool = False

    @property
    def signs(self) -> tuple[str, ...]:
        """Ids of the signs seen, in the order of their first press."""
        return tuple(dict.fromkeys(self.marks))

    @property
    def sign_counts(self) -> dict[str, int]:
        """How often the signs were marked that were so more than once, as far as a file holds."""
        return {
            sign: min(count, MOST_SEEN) for sign, count in Counter(self.marks).items() if count > 1
        }

    @property
    def phase(self) -> Phase:
        return self.timer.phase

    @property
    def counting_in(self) -> bool:
        return self.go_at is not None and self.phase is Phase.READY

    @property
    def running(self) -> bool:
        return self.phase is Phase.RUNNING

    @property
    def begun(self) -> bool:
        """Whether there is anything that a record of the trial would hold."""
        seen = bool(self.marks) or self.watched
        noted = seen or bool(self.ended or self.note) or self.pain is not None
        return noted or self.timer.started is not None or self.counting_in

    def with_timer(self, timer: Timer) -> TrialInput:
        return replace(self, timer=timer)

    def marked(self, sign: str, t: float) -> TrialInput:
        """The same with a sign seen at `t`, for the first time or again."""
        after = replace(self, marks=(*self.marks, sign))
        start = self.timer.started
        if sign in self.marks or start is None or not self.timer.going_on:
            return after
        seconds = max(t - start, 0.0)
        return replace(after, sign_times=(*self.sign_times, (sign, seconds)))

    def on_leg(self, sign: str, leg: SignLeg | None) -> TrialInput:
        """The same with a sign said to be of that leg; of None it is not said."""
        others = tuple(each for each in self.sign_legs if each[0] != sign)
        return replace(self, sign_legs=others if leg is None else (*others, (sign, leg)))

    def started_if_due(self, now: float) -> TrialInput:
        """The same with the timer started at the end of a count-in that is over by `now`."""
        if self.go_at is None or not self.counting_in or now < self.go_at:
            return self
        return self.with_timer(self.timer.press(self.go_at))


def _timer(spec: TestSpec, steps: int | None, *, tapped: bool) -> Timer:
    return spec.timer.timer(steps) if tapped else spec.timer.plain_timer(steps)


@dataclass(frozen=True)
class TrialState:
    """A trial.

    Attributes:
        side: The leg, None for a two-legged test.
        signs: The signs that can be marked, in the order of their digits.
        series: The trials before this one.
        count_in: Seconds counted down before the start; 0 for none.
        set_up: What was noted on the set-up; it is recorded with the trial.
        history: What `input` was before each thing done by hand.
        rest_until: Monotonic seconds up to which a rest is counted down before the start.
        first_leg: The leg offered first for a sign of a two-legged test: that of the complaint.
        clocks: Wall and monotonic time, read together just before the start; None until read.
        question: A doubt that a second Enter overrules.
        error: Why the last key was refused.
        hint: A remark about the last key.
        bell: The target or the end was reached by the last key or tick; `rang_at`, when that was.
        record: The finished trial, once it is saved or void. The screen adds it to the session,
            with the date and time, and goes on with `again`.
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
        """Give a trial that is ready; signs and trials of other tests are left out."""
        of_test = (one for one in signs if one.id in spec.signs)
        series = Series.of(spec, side, cue, trials_before)
        steps = series.steps
        fields = spec.timer.numbers
        return cls(
            spec=spec,
            side=side,
            signs=tuple(sorted(of_test, key=lambda sign: sign.digit)),
            series=series,
            count_in=count_in,
            input=TrialInput(
                _timer(spec, steps, tapped=tapped),
                direction=series.direction,
                steps=steps,
                tapped=tapped,
            ),
            entry=Entry(fields, ("",) * len(fields), with_signs=bool(fields and spec.signs)),
            set_up=set_up or {},
            first_leg=first_leg,
        )

    def again(self) -> TrialState:
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

    def input_for_flight(self, steps: int | None, *, tapped: bool) -> TrialInput:
        timer = _timer(self.spec, steps, tapped=tapped)
        return replace(self.input, steps=steps, tapped=tapped, timer=timer)

    @property
    def sign_of_a_leg(self) -> str | None:
        """The last sign of a two-legged test, whose leg can be said; None where there is none."""
        marks = self.input.marks if self.side is None else ()
        return marks[-1] if marks else None

    @property
    def undoable(self) -> bool:
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
        """Whether somebody must say if the value is right: the computer did nothing for a while."""
        timer = self.input.timer
        if timer.phase is not Phase.ENDED or self.input.confirmed:
            return False
        return timer.value is not None and self.stood_still_s > 0

    @property
    def stood_still_s(self) -> float:
        """Seconds in which the computer did nothing in the trial so far; 0 where it did not."""
        if not self.spec.timer.clocked or self.input.phase is Phase.READY:
            return 0.0
        end = self.input.timer.ended
        return self.watch.stood_still_s(float("inf") if end is None else end)

    @property
    def unsaved(self) -> bool:
        """Whether anything was entered that is not saved yet; the flight of stairs aside."""
        return self.record is None and (self.input.begun or any(self.entry.texts))

    @property
    def read_on(self) -> str:
        """The key that turns the page of what is read before the start; "" once that is over.

        Where numbers are typed the arrows go from one to the next, and Space may count.
        """
        if self.unsaved or self.prompt or self.record is not None:
            return ""
        if not self.entry.fields:
            return "down"
        return "pagedown" if self.entry.counting else "space"

    @property
    def series_complete(self) -> bool:
        return self.series.with_trial(self.record).complete

    @property
    def ended(self) -> bool:
        """Whether Enter would save the trial, as far as the timer is concerned."""
        return self.input.timer.over and not self.in_doubt

    @property
    def end_reasons(self) -> tuple[str, ...]:
        """Why it may have ended, the most likely first; at its full time fewer reasons fit."""
        return tuple(OF_ANY) if self.input.timer.capped else self.spec.timer.end_reasons

    @property
    def stopped_without_reason(self) -> bool:
        """Whether it was stopped early and nobody has said why, so that it cannot be saved yet.

        What such a trial says depends on the reason.
        """
        given = self.input
        excused = given.ended or given.manual_value or HANDS_USED in given.signs
        return self.ended and given.timer.incomplete and not excused


# What may have disturbed the timing. While the computer did nothing no key was read and no bell
# rang, so the value of a trial that ran on meanwhile may be wrong. Only who watched knows; until
# they say so it is in doubt, and what is in doubt is not used.

_TENTHS_UP_TO_S = 10
_SECONDS_UP_TO_S = 600


def fresh_watch(before: TrialState, after: TrialState) -> TrialState:
    """Begin to watch the timing anew where the timer has started in between."""
    start = after.input.timer.started
    if before.input.phase is Phase.READY and start is not None:
        return replace(after, watch=after.watch.begun(start))
    return after


def watched(state: TrialState, now: float, wall: datetime | None) -> TrialState:
    """Note that the program is at work, before anything is done at a tick or with a key.

    The date and time is to notice that the computer slept; None where nobody asks.
    """
    phase, clocks = state.input.phase, state.clocks
    watch = state.watch.tick(now) if state.input.running else state.watch.idle(now)
    if wall is not None and (clocks is None or phase is Phase.READY):
        # Read anew up to the start, from which on the two clocks are compared.
        clocks = (wall, now)
    elif wall is not None and clocks is not None and phase is Phase.RUNNING:
        watch = watch.wall(clocks[0], wall, clocks[1], now)
    return replace(state, watch=watch, clocks=clocks)


def disturbance(state: TrialState) -> str:
    """That the computer did nothing in the trial, for how long, or that its clock was set.

    Words without a full stop; "" where there is nothing to say.
    """
    if not state.spec.timer.clocked or state.input.phase is Phase.READY:
        return ""
    still, ahead = state.stood_still_s, state.watch.wall_ahead_s
    if still and ahead > CLOCK_DIFFERENCE_S:
        return f"the computer slept for {_long(still)}, or its clock was set forward"
    parts = [f"the computer stopped for {_long(still)}"] if still else []
    if ahead < -CLOCK_DIFFERENCE_S:
        parts.append(
            f"the computer's clock was set back by {_long(-ahead)}; the timer does not use it"
        )
    return "; ".join(parts)


def doubt(state: TrialState) -> str:
    """The question whether the value is right; "" where it is not asked."""
    if not state.in_doubt:
        return ""
    what = "count" if state.spec.timer.counts else "time"
    said = disturbance(state)
    return f"During this trial {said}. Is the {what} right?"


def disturbance_noted(state: TrialState) -> str:
    """The same for the record, and whether the value was confirmed."""
    said = disturbance(state)
    if not (said and state.input.confirmed):
        return said
    return f"{said}; the {'count' if state.spec.timer.counts else 'time'} was confirmed"


def _long(seconds: float) -> str:
    if seconds < _TENTHS_UP_TO_S:
        return f"{seconds:.1f} s"
    return f"{seconds:.0f} s" if seconds < _SECONDS_UP_TO_S else f"{seconds / 60:.0f} min"
