"""What hands have done in a trial so far: all that Backspace can take back, in one value."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from screen_tui.timing import (
    CountInTimeTimer,
    HoldTimer,
    OnceTimer,
    Phase,
    RepeatHoldTimer,
    StepsTimer,
    TimeForCountTimer,
    Timer,
    WalkTimer,
)

Direction = Literal["up", "down"]


@dataclass(frozen=True, slots=True)
class Made:
    """The state of a trial that was made by hand.

    Attributes:
        timer: The timer; None for a test that is not timed.
        go_at: Time at which a count-in starts the timer; None when none was begun.
        repetitions: Repetitions counted in a test that is only watched.
        watched_from: Time of the first of them, or None.
        signs: Ids of the signs seen.
        sign_times: (id, seconds since the start) of those tagged while the clock ran.
        pain: 0 to 10, or None.
        ended: The id of why it ended, or "".
        direction: Up or down, for stairs.
        steps: Number of stair steps, for stairs.
        note: Words to the trial, or "".
        fixed: The value typed by hand instead of the timed one, and why; None for none.
        confirmed: It was said that the value is right though the computer stood still.
    """

    timer: Timer | None
    go_at: float | None = None
    repetitions: int = 0
    watched_from: float | None = None
    signs: tuple[str, ...] = ()
    sign_times: tuple[tuple[str, float], ...] = ()
    pain: int | None = None
    ended: str = ""
    direction: Direction | None = None
    steps: int | None = None
    note: str = ""
    fixed: tuple[str, str] | None = None
    confirmed: bool = False

    @property
    def phase(self) -> Phase | None:
        """The phase of the timer; None for a test that is not timed."""
        return None if self.timer is None else self.timer.phase

    @property
    def counting_in(self) -> bool:
        """Whether a count-in is under way."""
        return self.go_at is not None and self.phase is Phase.READY

    @property
    def running(self) -> bool:
        """Whether the timer runs."""
        return self.phase is Phase.RUNNING

    @property
    def started_at(self) -> float | None:
        """The time at which the timer was started; None when it was not."""
        return started_at(self.timer)

    @property
    def begun(self) -> bool:
        """Whether there is anything that a record of the trial would hold."""
        told = self.signs or self.ended or self.repetitions or self.note
        noted = bool(told) or self.pain is not None
        timed = self.phase is not None and self.phase is not Phase.READY
        return noted or timed or self.counting_in

    @property
    def asking(self) -> bool:
        """Whether the question about the last repetition is open."""
        return isinstance(self.timer, CountInTimeTimer) and self.timer.asking

    @property
    def capped(self) -> bool:
        """Whether a hold lasted its full time."""
        return isinstance(self.timer, HoldTimer) and self.timer.capped

    @property
    def incomplete(self) -> bool:
        """Whether it was stopped by hand before what it measures was complete."""
        return self.timer is not None and self.timer.incomplete

    @property
    def ignored(self) -> int:
        """Presses left out as too fast."""
        if isinstance(self.timer, CountInTimeTimer | TimeForCountTimer | StepsTimer):
            return self.timer.ignored
        return 0

    def with_timer(self, timer: Timer) -> Made:
        """The same with the timer moved on."""
        return replace(self, timer=timer)

    def toggled(self, sign: str, t: float) -> Made:
        """The same with a sign put on at `t`, or taken off."""
        if sign in self.signs:
            return replace(
                self,
                signs=tuple(each for each in self.signs if each != sign),
                sign_times=tuple(each for each in self.sign_times if each[0] != sign),
            )
        start = started_at(self.timer) if self.running else self.watched_from
        tagged = self if start is None else self._tagged(sign, max(t - start, 0.0))
        return replace(tagged, signs=(*self.signs, sign))

    def _tagged(self, sign: str, seconds: float) -> Made:
        return replace(self, sign_times=(*self.sign_times, (sign, seconds)))

    def started_if_due(self, now: float) -> Made:
        """The same with the timer started at the end of a count-in that is over by `now`."""
        if self.timer is None or self.go_at is None or not self.counting_in or now < self.go_at:
            return self
        return self.with_timer(self.timer.press(self.go_at))


def started_at(timer: Timer | None) -> float | None:
    """The time at which a timer was started; None when it was not."""
    if isinstance(timer, RepeatHoldTimer):
        return timer.runs[0].start if timer.runs else None
    if isinstance(timer, CountInTimeTimer | TimeForCountTimer | StepsTimer):
        return timer.log.start
    return timer.start if isinstance(timer, HoldTimer | OnceTimer | WalkTimer) else None


def ended_at(timer: Timer) -> float | None:
    """The time at which a timer ended; in a series of holds, its last hold. None until then."""
    if timer.phase is not Phase.ENDED:
        return None
    last = timer.runs[-1] if isinstance(timer, RepeatHoldTimer) else timer
    start = started_at(last)
    # What an ended timer shows is the same at any moment.
    return None if start is None else start + timer.snapshot(start).elapsed


def only_ignored(before: Timer, after: Timer) -> bool:
    """Whether a press changed nothing but the number of presses that were not counted."""
    if isinstance(before, CountInTimeTimer) and isinstance(after, CountInTimeTimer):
        same_window = before.log.start == after.log.start
        return same_window and before.counted == after.counted
    if isinstance(before, TimeForCountTimer | StepsTimer) and isinstance(
        after, TimeForCountTimer | StepsTimer
    ):
        return before.log.start == after.log.start and before.counted == after.counted
    return False
