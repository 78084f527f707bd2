"""What the program has to know of a kind of test; `kinds` has one module for each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal, get_args

from pydantic import Field, model_validator

from screen_tui.fields import Id, Line, Strict
from screen_tui.timing.timer import Phase, Snapshot, Timer, Untimed

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


class TimingSpec(Strict):
    """What the program has to know of a kind of test, as its file says.

    A kind is one subclass in one module of `kinds`, with its timer and its words. The rest of the
    program asks these questions of it, and never which kind it is. The answers here are those of
    one stretch of time.

    Attributes:
        clocked: A clock runs in it, whose timing may be disturbed.
        ordered: Signs are marked while something goes on, so that one can come before another.
        stretch: It is one stretch of time: a case of practice says when it ends.
        counts: Its value is a number of repetitions, not of seconds; ``counted`` is what they are.
        rises: It is done by rising from a chair, which hands make another test.
        zero_with_hands: With hands it counts nothing, by its published rule.
        patient_starts: The clock starts with what the patient does, not with the word go.
        ends: The reasons for which a trial of this test ends, where they are not all ``reasons`` of
            the kind; the most likely first.
        ends_for_a_reason: A trial without a reason why it ended is not fully recorded.
        directions: The ways in which it is done, each timed apart.
        decimals: In which a value is recorded when no measure is the value itself.
        of_case: The same as `case_fields`, where they are those of every test of the kind.
        runs_to: What a trial runs to, with the figures of the file in braces, and ``wanted``.
        stopped: The note of a trial that was stopped, with what was ``done`` and ``begun``.
        digits: Characters of the main number; ``of_number`` is its unit.
        space: What Space does while a trial runs.
        reached: The word of the state once its time or its number is full.
        only_state: The word of the state where nothing runs; else empty.
        takes: The calculations of `ResultMeasure.taken_from` that only such a kind has numbers for.
        movement: How the body moves in it, for the figure of practice.
        stops_early: Stopping by hand is not the end that is measured.
        without_value: What is said of a trial that has no number.
        taps: One may choose to time each step, as `timer` does, and not only the whole.
        why_no_value: Why the value of a trial is no result as it is; empty when it is one.
        why_no_correction: Why a value cannot be corrected by hand; empty when it can.
        why_no_rising: What is said in a mistake of a file where `rising` gives nothing.
        after_the_end: What is said when Space is pressed after the end.
    """

    kind: str
    ends: Annotated[tuple[Id, ...], Field(max_length=MOST_REASONS)] = ()

    clocked: ClassVar[bool] = True
    ordered: ClassVar[bool] = True
    stretch: ClassVar[bool] = False
    counts: ClassVar[bool] = False
    counted: ClassVar[str] = ""
    rises: ClassVar[bool] = False
    zero_with_hands: ClassVar[bool] = False
    patient_starts: ClassVar[bool] = False
    ends_for_a_reason: ClassVar[bool] = False
    directions: ClassVar[tuple[Direction, ...]] = ()
    decimals: ClassVar[int] = 1
    reasons: ClassVar[Mapping[str, str]] = OF_TASKS
    takes: ClassVar[frozenset[str]] = frozenset()
    movement: ClassVar[Movement] = "floor"
    stops_early: ClassVar[bool] = True
    without_value: ClassVar[str] = "no value recorded"
    of_case: ClassVar[frozenset[str]] = frozenset()
    runs_to: ClassVar[str] = ""
    stopped: ClassVar[str] = "{when}"
    digits: ClassVar[int] = 5
    of_number: ClassVar[str] = "s"
    space: ClassVar[str] = "stop"
    reached: ClassVar[str] = "DONE"
    only_state: ClassVar[str] = ""
    taps: ClassVar[bool] = False
    why_no_value: ClassVar[str] = ""
    why_no_correction: ClassVar[str] = ""
    why_no_rising: ClassVar[str] = 'the timer is "{kind}", which counts no rises'
    after_the_end: ClassVar[str] = "ended; Enter saves, Backspace undoes"

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
        raise NotImplementedError

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
        return None

    @property
    def window(self) -> float | None:
        return None

    @property
    def series(self) -> tuple[int, float] | None:
        """How many holds there are, and how long each is to last."""
        return None

    @property
    def split_least(self) -> float | None:
        """``min_split_s``: the fewest plausible seconds of one; None where they are not timed."""
        least: float | None = getattr(self, "min_split_s", None)
        return least

    @property
    def flight(self) -> int | None:
        return None

    @property
    def numbers(self) -> tuple[NumberField, ...]:
        return ()

    @property
    def one_value(self) -> bool:
        """Whether a trial has one number of its own, which can be corrected."""
        return True

    @property
    def case_fields(self) -> frozenset[str]:
        """The fields that say in a case of practice how a trial goes."""
        return self.of_case

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
        return self.counts or self.wanted(None) is not None

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

    def stopped_note(self, when: str, shot: Snapshot, steps: int | None) -> str:
        """The note of a trial that was stopped early; ``when`` is after how many seconds."""
        figures = {"done": shot.count, "begun": len(shot.splits), "wanted": self.wanted(steps)}
        # Of a flight that was timed as a whole no step is known.
        words = "{when}" if self.taps and not shot.count else self.stopped
        return words.format(when=when, **figures, **vars(self))

    def worded(self, value: float) -> str:
        """The name of a value that stands for a grade; empty where a value is a number."""
        return ""

    def ending_of(self, value: float, ended: str) -> str:
        """Why a trial ended, once its value was corrected."""
        return ended

    # What is shown.

    def target(self, steps: int | None) -> str:
        """What a trial runs to, in one short phrase; "" where there is nothing to run to."""
        return self.runs_to.format(wanted=self.wanted(steps), **vars(self))

    def state(self, shot: Snapshot) -> str:
        """In one word or two where a trial is."""
        if self.only_state:
            return self.only_state
        if shot.phase is Phase.READY:
            return "READY"
        if shot.asking:
            return "ASKING"
        if shot.phase is Phase.ENDED:
            return self.reached if shot.target_reached else "STOPPED"
        return "REST" if shot.resting else "RUNNING"

    def width(self) -> int:
        """Characters of the main number, which keeps its place while it runs."""
        return self.digits

    def main_number(self, seconds: float, count: float) -> str:
        """The main number, of seconds rounded as shown and a count, or as corrected by hand."""
        return f"{seconds:0{self.width()}.1f}"

    def unit(self, of_measure: str) -> str:
        """The unit of the main number; ``of_measure`` is that of the value itself, or ""."""
        return self.of_number

    def beside(self, shot: Snapshot) -> tuple[str, str]:
        """A second number as big as the main one, and its unit; two empty texts for none."""
        return "", ""

    def progress(self, shot: Snapshot, steps: int | None) -> str:
        """How far a trial is, such as ``3 of 5``; "" where the main number says it."""
        return ""

    def space_does(self, shot: Snapshot) -> str:
        return self.space


class Typed(TimingSpec):
    """What all kinds have in common whose numbers are read off the patient and typed."""

    clocked: ClassVar[bool] = False
    ordered: ClassVar[bool] = False
    movement: ClassVar[Movement] = "extension"
    why_no_correction: ClassVar[str] = (
        "Typed numbers are not corrected: make the trial void and type them again."
    )
    of_number: ClassVar[str] = ""
    only_state: ClassVar[str] = "TYPE NUMBERS"
    after_the_end: ClassVar[str] = "nothing is timed here; type the numbers"

    def timer(self, steps: int | None = None) -> Untimed:
        return Untimed()

    @property
    def one_value(self) -> bool:
        return any(field.id == "value" for field in self.numbers)

    @property
    def case_fields(self) -> frozenset[str]:
        return frozenset(field.id for field in self.numbers)
