"""What the program has to know of a kind of test; `kinds` has one module for each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import Field, model_validator

from screen_tui.fields import Id, Line, Strict
from screen_tui.timing.timer import IntervalTimer, Phase, Timer, Untimed

Seconds = Annotated[float, Field(gt=0, le=600)]
Direction = Literal["up", "down"]

Movement = Literal[
    "stance", "tandem", "chair", "step-down", "stairs", "walk", "up-and-go", "floor",
    "leg-raise", "thigh-set", "extension", "sitting", "lunge", "heel-raise", "squat",
]  # fmt: skip
"""How a body moves in a test."""

CAP = "cap"
"""Why a hold ended that lasted its full time."""

OF_ANY: Mapping[str, str] = {
    "pain": "pain",
    "fatigue": "fatigue",
    "breathless": "breathless",
    "fear": "fear",
    "unsafe": "unsafe",
    "asked-to-stop": "asked to stop",
}
"""Reasons for which a trial of any kind may end, with their labels."""

OF_TASKS: Mapping[str, str] = {**OF_ANY, "unable": "tried, unable"}

MOST_REASONS = 9
"""Reasons that have a digit of their own."""


class NumberField(Strict):
    """One number read off the patient, such as an angle.

    ``whole`` allows no fractions; of repetitions that are ``counted`` Space adds one.
    """

    id: Literal["passive_deg", "active_deg", "value"]
    label: Line
    minimum: float
    maximum: float
    hint: Line
    whole: bool = False
    counted: bool = False


StateWord = Literal[
    "READY", "REST", "COUNT-IN", "RUNNING", "ASKING", "FULL TIME", "DONE", "STOPPED", "SAVED",
    "TYPE NUMBERS", "CHOOSE", "SIGNS", "WATCH",
]  # fmt: skip
"""In one word or two where a trial is."""


@dataclass(frozen=True, kw_only=True)
class TimerWords:
    """What is said of a kind of test, on the screen and of its trials; as usual unless given.

    In braces are the figures of the file, and those of `TimingSpec.figures`.

    Attributes:
        target: What a trial runs to; "" where there is nothing to run to.
        number: The main number; ``seconds`` are rounded as shown, ``done`` may be corrected.
        unit: Its unit; ``measure`` is that of the value itself.
        progress: How far a trial is, such as ``3 of 5``; "" where the main number says it.
        stopped: The note of a trial that was stopped early; ``when`` is after how many seconds.
        space: What Space does while a trial runs.
        state: The word of the state where nothing runs; else None.
        reached: The word of the state once its time or its number is full.
        after_the_end: What is said when Space is pressed after the end.
        without_value: What is said of a trial that has no number.
    """

    target: str = ""
    number: str = "{seconds:0{width}.1f}"
    unit: str = "s"
    progress: str = ""
    stopped: str = "{when}"
    space: str = "stop"
    state: StateWord | None = None
    reached: StateWord = "DONE"
    after_the_end: str = "ended; Enter saves, Backspace undoes"
    without_value: str = "no value recorded"


class TimingSpec(Strict):
    """What the program has to know of a kind of test, as its file says.

    A kind is one subclass in one module of `kinds`, with its timer and its words. The rest of the
    program asks these questions of it, and never which kind it is. The answers here are those of
    one interval of time.

    Attributes:
        clocked: A clock runs in it, whose timing may be disturbed.
        counts: What its value is a number of; "" where it is seconds.
        rises: It is done by rising from a chair, which hands make another test.
        zero_with_hands: With hands it counts nothing, by its published rule.
        patient_starts: The clock starts with what the patient does, not with the word go.
        stop_is_an_end: Stopping it is the end that is measured, and has a reason.
        ends: The reasons for which a trial of this test ends, where they are not all ``reasons`` of
            the kind; the most likely first.
        directions: The ways in which it is done, each timed apart.
        decimals: In which a value is recorded when no measure is the value itself.
        takes: The calculations of `ResultMeasure.taken_from` that only such a kind has numbers for.
        movement: How the body moves in it, for the figure of practice.
        refusals: What `refuses` says of it.
    """

    kind: str
    ends: Annotated[tuple[Id, ...], Field(max_length=MOST_REASONS)] = ()

    clocked: ClassVar[bool] = True
    counts: ClassVar[str] = ""
    rises: ClassVar[bool] = False
    zero_with_hands: ClassVar[bool] = False
    patient_starts: ClassVar[bool] = False
    stop_is_an_end: ClassVar[bool] = False
    directions: ClassVar[tuple[Direction, ...]] = ()
    decimals: ClassVar[int] = 1
    reasons: ClassVar[Mapping[str, str]] = OF_TASKS
    takes: ClassVar[frozenset[str]] = frozenset()
    movement: ClassVar[Movement] = "floor"
    refusals: ClassVar[Mapping[str, str]] = {}
    words: ClassVar[TimerWords] = TimerWords()

    @model_validator(mode="after")
    def _ends_are_known(self) -> TimingSpec:
        strange = [one for one in self.ends if one not in self.reasons]
        if strange:
            raise ValueError(f"ends: {strange[0]} is none of {', '.join(self.reasons)}")
        return self

    @classmethod
    def name(cls) -> str:
        """The word of the kind in files, such as ``hold``."""
        return str(get_args(cls.model_fields["kind"].annotation)[0])

    def timer(self, steps: int | None = None) -> Timer:
        """A timer that is ready; ``steps`` are those of a flight that is not the file's own."""
        return IntervalTimer()

    def plain_timer(self, steps: int | None = None) -> Timer:
        """The timer in ordinary use: Space starts and stops, and counts only repetitions."""
        return self.timer(steps)

    @property
    def end_reasons(self) -> tuple[str, ...]:
        """Why a trial of this test may end, as many as there are digits."""
        return self.ends or tuple(self.reasons)[:MOST_REASONS]

    # What the file says of it, where the kind has such a thing.

    @property
    def cap(self) -> float | None:
        """Seconds at which the clock, and not the person, ends a trial."""
        return self._seconds("cap_s")

    @property
    def window(self) -> float | None:
        """Seconds in which repetitions are counted."""
        return self._seconds("window_s")

    @property
    def split_least(self) -> float | None:
        """The fewest plausible seconds of one repetition; None where they are not timed."""
        return self._seconds("min_split_s")

    def _seconds(self, name: str) -> float | None:
        seconds: float | None = getattr(self, name, None)
        return seconds

    @property
    def series(self) -> tuple[int, float] | None:
        """How many holds there are, and how long each is to last."""
        return None

    @property
    def flight(self) -> int | None:
        """Steps of a flight of stairs, each of which may be timed, and not only the whole."""
        return None

    @property
    def numbers(self) -> tuple[NumberField, ...]:
        """The numbers that are typed."""
        return ()

    @property
    def one_value(self) -> bool:
        """Whether a trial has one number of its own."""
        return self.clocked or any(field.id == "value" for field in self.numbers)

    @property
    def question(self) -> str:
        """What is asked when the time is up; a yes counts one more."""
        return ""

    @property
    def counts_upright(self) -> bool:
        """Whether a repetition is complete in standing, not back on the seat."""
        return False

    @property
    def repeated(self) -> bool:
        """Whether one trial is several repetitions, in each of which a sign can be seen."""
        return bool(self.counts) or self.wanted(None) is not None

    @property
    def one_interval(self) -> bool:
        """Whether a trial is one interval of time, whose end a case of practice gives."""
        return self.clocked and not self.repeated

    # What is computed from a trial.

    def wanted(self, steps: int | None) -> int | None:
        """How many repetitions or steps a full trial has; None where there is no such number."""
        return None

    def fastest(self, steps: int | None) -> float | None:
        """The least seconds a whole trial can take; None where the file does not say."""
        wanted = self.wanted(steps)
        if self.counts or wanted is None or self.split_least is None:
            return None
        return wanted * self.split_least

    def speed(self, seconds: float) -> float | None:
        """Metres per second; None without a distance."""
        return None

    def rising(self, value: float) -> tuple[float, float] | None:
        """Seconds and whole rises of a trial of that value; None where it has no whole rises."""
        return None

    def recorded_splits(self, splits: tuple[float, ...]) -> tuple[float, ...]:
        """The splits of a timer as they are recorded, in rising order."""
        return splits

    def worded(self, value: float) -> str:
        """The name of a value that stands for a grade; empty where a value is a number."""
        return ""

    def ending_of(self, value: float, ended: str) -> str:
        """Why a trial ended, once its value was corrected: at the cap where it is as long."""
        if self.cap is None:
            return ended
        if value >= self.cap:
            return CAP
        return "" if ended == CAP else ended

    def refuses(self, what: Literal["value", "correction", "rising"]) -> str:
        """Why a value is no result, cannot be corrected or has no whole rises; "" for none."""
        if what == "rising":
            no_rises = f'the timer is "{self.kind}", which counts no rises'
            return self.refusals.get(what, no_rises) if self.rising(1.0) is None else ""
        return self.refusals.get(what, "")

    # What is said.

    @property
    def width(self) -> int:
        """Characters of a time, which keeps its place while it runs."""
        longest = self.series[1] if self.series else self.cap
        return 4 if longest is not None and longest < _THREE_DIGITS_S else 5

    def figures(self, timer: Timer, steps: int | None) -> dict[str, Any]:
        """The figures of a trial: how many are wanted and done, and how many holds have begun."""
        holding = timer.phase is Phase.RUNNING and not timer.resting
        return {
            **vars(self),
            "wanted": self.wanted(steps),
            "done": timer.count,
            "begun": len(timer.splits) + holding,
        }

    def progress(self, timer: Timer, steps: int | None) -> str:
        """How far a trial is; of a flight that is timed as a whole no step is known."""
        if self.flight and not timer.count:
            return ""
        return self.words.progress.format(**self.figures(timer, steps))

    def stopped_note(self, when: str, timer: Timer, steps: int | None) -> str:
        """The note of a trial that was stopped early; ``when`` is after how many seconds."""
        words = "{when}" if self.flight and not timer.count else self.words.stopped
        return words.format(when=when, **self.figures(timer, steps))


_THREE_DIGITS_S = 100


class Typed(TimingSpec):
    """What all kinds have in common whose numbers are read off the patient and typed."""

    clocked: ClassVar[bool] = False
    movement: ClassVar[Movement] = "extension"
    refusals: ClassVar[Mapping[str, str]] = {
        "correction": "Typed numbers are not corrected: make the trial void and type them again."
    }
    words: ClassVar[TimerWords] = TimerWords(
        unit="",
        state="TYPE NUMBERS",
        after_the_end="nothing is timed here; type the numbers",
    )

    def timer(self, steps: int | None = None) -> Untimed:
        return Untimed()
