"""What hands have done in a trial so far: all that Backspace can take back, in one value."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from screen_tui.session.model import MOST_SEEN, SignLeg
from screen_tui.timing import Phase, Timer
from screen_tui.timing.spec import Direction


@dataclass(frozen=True, slots=True)
class TrialInput:
    """What was done by hand in a trial.

    Attributes:
        timer: The timer of the test.
        go_at: Time at which a count-in starts the timer; None when none was begun.
        marks: Ids of the signs seen, one for each press.
        sign_times: (id, seconds since the start) of those first marked while something went on.
        sign_legs: (id, leg) of those that were said to be of one leg or of both.
        watched: It was said to be watched throughout.
        pain: 0 to 10, or None.
        ended: The id of why it ended, or "".
        direction: Up or down, for stairs.
        steps: Number of stair steps, for stairs.
        tapped: Each step is timed by a press of its own, for stairs.
        note: Words to the trial, or "".
        manual_value: The value typed by hand instead of the timed one, and why; None for none.
        confirmed: It was said that the value is right though the computer stood still.
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
        """The phase of the timer."""
        return self.timer.phase

    @property
    def counting_in(self) -> bool:
        """Whether a count-in is under way."""
        return self.go_at is not None and self.phase is Phase.READY

    @property
    def running(self) -> bool:
        """Whether the timer runs."""
        return self.phase is Phase.RUNNING

    @property
    def begun(self) -> bool:
        """Whether there is anything that a record of the trial would hold."""
        seen = bool(self.marks) or self.watched
        noted = seen or bool(self.ended or self.note) or self.pain is not None
        return noted or self.timer.started is not None or self.counting_in

    def with_timer(self, timer: Timer) -> TrialInput:
        """The same with the timer moved on."""
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
