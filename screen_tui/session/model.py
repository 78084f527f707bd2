"""What happened: one screen of one person, as one TOML file holds it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date, datetime
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    AwareDatetime,
    Field,
    StringConstraints,
    ValidationInfo,
    field_validator,
    model_validator,
)

from screen_tui.fields import (
    Goal,
    Id,
    Line,
    Precaution,
    SetUpId,
    Sex,
    Side,
    Strict,
    Surgery,
    refuse_control_characters,
    same_leg,
)

INSTEAD = "use a short code such as K-014"
"""What to do about a label that is refused."""

_CODE = re.compile(r"[A-Z]{1,4}-?[0-9]{0,5}")
"""What most labels look like; a list of ten thousand sessions asks for each of them."""

_DATE_OR_NUMBER = re.compile(r"\d{1,4}[-./ ]\d{1,2}[-./ ]\d{1,4}")
_YEAR = re.compile(r"(?<!\d)(19|20)\d\d(?!\d)")
_WORD = re.compile(r"[^\W\d_]+")
_LAST_NAME_FIRST = re.compile(r"[^\W\d_]{2,}, ?[^\W\d_]")
_LONGEST_CODE = 4
"""Capitals before a number, as in CASE-2001; a word that is longer is read as a word."""


def label_key(label: str) -> str:
    """What two labels of one patient have in common: neither case nor blanks around it matter.

    Nor does whether an accent is part of its letter or a character of its own.
    """
    return unicodedata.normalize("NFC", label).strip().casefold()


def what_it_tells(label: str) -> str:
    """What a label looks like that could tell who the person is, such as ``a date``; else "".

    The kinds follow the identifiers of the US Safe Harbor list, 45 CFR 164.514(b)(2), and a year
    beside a word is refused as one of birth. One name alone, one written in small letters or in a
    script without capitals, cannot be distinguished from a label.
    """
    if _CODE.fullmatch(label):
        return ""
    # An accent that is a character of its own would end a word in the middle.
    composed = unicodedata.normalize("NFKC", label)
    if "@" in composed:
        return "an e-mail address"
    if _DATE_OR_NUMBER.search(composed):
        return "a date or a phone number"
    if sum(character.isdigit() for character in composed) >= 6:
        return "a phone or record number"
    words = _WORD.findall(composed)
    if _YEAR.search(composed) and any(_may_be_a_name(word) for word in words):
        return "a name or a date of birth"
    capitalised = sum(len(word) > 1 and word[0].isupper() for word in words)
    if capitalised >= 2 or _LAST_NAME_FIRST.search(composed):
        return "a full name"
    return ""


def _may_be_a_name(word: str) -> bool:
    return len(word) > 1 and not (word.isupper() and len(word) <= _LONGEST_CODE)


TRIED_UNABLE = "tried, unable"
"""The reason of a test that was begun and could not be done at all."""

AGAINST_TESTING = ("not safe today", "too painful", "too tired", TRIED_UNABLE)
"""Reasons that hold all the more for a harder test."""

BESIDE_THE_POINT = (
    "does not want to",
    "no room or equipment",
    "not enough time",
    "not needed for this person",
)
"""Reasons that say nothing about what the person could safely do."""

SKIP_REASONS = (*AGAINST_TESTING, *BESIDE_THE_POINT)


def speaks_against_harder_tests(reason: str) -> bool:
    """Whether what is harder is better withheld too.

    A reason in own words may be one of safety, and nobody here can tell, so it counts as one: the
    clinician can start a withheld test all the same.
    """
    return reason not in BESIDE_THE_POINT


FORMAT = 3

MOST_TRIALS = 2_000
"""Trials of one session: far more than anybody does, and few enough to be judged in a second."""


def _nobody_known(label: str) -> str:
    kind = what_it_tells(label)
    if kind:
        raise ValueError(f"looks like {kind}; {INSTEAD}")
    return label


BROKEN_OFF = frozenset({"pain", "fatigue", "breathless", "fear", "unable", "unsafe"})
"""Why a trial ended that the person could not go on with, or was not allowed to."""

SignLeg = Literal["left", "right", "both"]
"""On which leg a sign of a two-legged test was seen."""

Complaint = Literal["pain", "giving-way", "weakness", "stiffness"]
WeightBearing = Literal["full", "as-tolerated", "partial", "touch", "none"]
Pain = Annotated[int, Field(ge=0, le=10)]
MOST_SEEN = 99
"""What is counted by eye in one trial at most: far more than anybody presses."""
Times = Annotated[int, Field(ge=2, le=MOST_SEEN)]
Label = Annotated[
    str,
    StringConstraints(min_length=1, max_length=40),
    refuse_control_characters,
    AfterValidator(_nobody_known),
]
FreeText = Annotated[str, StringConstraints(max_length=400), refuse_control_characters]
Reason = Annotated[str, StringConstraints(min_length=1, max_length=400), refuse_control_characters]
SetUpValue = Annotated[float, Field(ge=3, le=80)] | Id
AS_USUAL = "as-usual"
"""Said of the set-up where what was noted holds no more."""
SessionId = Annotated[str, StringConstraints(pattern=r"^[0-9a-z][0-9a-z-]{0,63}\Z")]


class Client(Strict):
    """Who was screened: a short label, never a name; an age, never a birth date."""

    label: Label
    age: Annotated[int, Field(ge=5, le=110)]
    sex: Sex = "unspecified"
    height_cm: Annotated[float, Field(ge=80, le=230)] | None = None
    mass_kg: Annotated[float, Field(ge=20, le=300)] | None = None


class Cleared(Strict):
    """A safety question answered yes, whose reason is known and was cleared for testing."""

    caution: Id
    by: Line
    when: Line
    words: FreeText = ""


class Intake(Strict):
    """What was asked before testing. What is None or absent was not asked.

    Without ``side`` both legs are complained of, and without ``weight_bearing`` it is full.

    Attributes:
        one_leg_confirmed: Full load on one leg was confirmed for somebody who may bear weight as
            tolerated.
        surgery: The kind of the surgery that was ``recent_surgery_weeks`` ago.
        cleared: Those whose reason is known and cleared; they are not among the cautions.
        safety_asked: Ids of the safety questions that were put; empty where nobody noted it.
        cut_short: An emergency ended the questions: what has no answer here was not asked.
        pain_worst: The worst of the last week, 0 to 10.
        history: Question to answers, by their ids in ``history.toml``.
    """

    complaints: tuple[Complaint, ...] = ()
    side: Literal["left", "right", "both"] = "both"
    goals: tuple[Goal, ...] = ()
    weight_bearing: WeightBearing = "full"
    one_leg_confirmed: bool = False
    recent_surgery_weeks: Annotated[int, Field(ge=0, le=520)] | None = None
    surgery: Surgery | None = None
    precautions: tuple[Precaution, ...] = ()
    cautions: tuple[Id, ...] = ()
    safety_asked: tuple[Id, ...] = ()
    cut_short: Literal[True] | None = None
    cleared: tuple[Cleared, ...] = ()
    pain_now: Pain | None = None
    pain_worst: Pain | None = None
    history: Mapping[Id, Annotated[tuple[Id, ...], Field(min_length=1)]] = Field(
        default_factory=dict
    )
    alone_at_home: bool | None = None
    note: FreeText = ""

    @property
    def load_asked(self) -> WeightBearing | None:
        """How much weight may be borne; None where nobody may have been asked."""
        return None if self.cut_short and self.weight_bearing == "full" else self.weight_bearing

    def complains_of(self, side: Side | None) -> bool:
        """Whether a leg is one that is complained of; what is of the person always is."""
        return side is None or self.side in ("both", side)

    @model_validator(mode="after")
    def _cleared_is_no_caution(self) -> Intake:
        both = next((one.caution for one in self.cleared if one.caution in self.cautions), None)
        if both is not None:
            raise ValueError(f"{both} is among the cautions and cleared; it is one or the other")
        return self


ASKED_AGAIN = "the clinician who asked it again"
"""Who cleared a safety question whose no the findings contradicted, and that stayed a no."""


class Trial(Strict):
    """One attempt at one test. A trial is never deleted: ``void`` strikes it out with a reason.

    Attributes:
        side: The leg tested; None for a two-legged test.
        value: The trial's value in the test's unit, rounded as the trade records it; a walk,
            a flight of stairs and a movement are recorded in seconds. None where only signs
            were noted or nothing could be measured.
        raw_value: The same before rounding, as it was timed or typed; no correction changes it.
        corrected_from: The value that stood here before it was corrected by hand; None where it
            held none, or was not corrected.
        splits: Seconds since the start, one per repetition or step.
        sign_times: Seconds since the start at which a sign was first tagged, for those tagged
            while the clock ran.
        sign_counts: How often a sign was seen, for those marked more than once.
        sign_legs: In a two-legged test, the leg a sign was seen on; of ``shifts-to-one-side`` the
            leg that is spared.
        watched: It was watched from beginning to end, so that a sign not marked was not there.
        repetitions: How many were counted in a test that is only watched; None where nobody
            counted, and in all other tests.
        ended: Why the trial ended; those of `BROKEN_OFF` and ``cap`` are known.
        pain: Worst pain during the trial, 0 to 10.
        passive_deg: Passive knee extension: 0 straight, positive short of straight.
        active_deg: Active knee extension, the same way.
        aid: The walking aid used, ``none`` included; empty when it was not noted.
        trust: What may have disturbed the timing, such as ``stall``.
    """

    test: Id
    side: Side | None = None
    value: Annotated[float, Field(ge=-90, le=3600)] | None = None
    raw_value: Annotated[float, Field(ge=-90, le=3600)] | None = None
    splits: tuple[Annotated[float, Field(ge=0, le=3600)], ...] = ()
    signs: tuple[Id, ...] = ()
    sign_times: Mapping[Id, Annotated[float, Field(ge=0, le=3600)]] = Field(default_factory=dict)
    sign_counts: Mapping[Id, Times] = Field(default_factory=dict)
    sign_legs: Mapping[Id, SignLeg] = Field(default_factory=dict)
    watched: bool = False
    repetitions: Annotated[int, Field(ge=1, le=MOST_SEEN)] | None = None
    corrected_from: Annotated[float, Field(ge=-90, le=3600)] | None = None
    correction: FreeText = ""
    ended: FreeText = ""
    pain: Pain | None = None
    cue: Literal[""] | Id = ""
    void: FreeText = ""
    direction: Literal["up", "down"] | None = None
    steps: Annotated[int, Field(ge=1, le=60)] | None = None
    passive_deg: Annotated[float, Field(ge=-30, le=120)] | None = None
    active_deg: Annotated[float, Field(ge=-30, le=120)] | None = None
    seat_cm: Annotated[float, Field(ge=20, le=80)] | None = None
    step_cm: Annotated[float, Field(ge=3, le=50)] | None = None
    riser_cm: Annotated[float, Field(ge=3, le=40)] | None = None
    aid: Literal[""] | Id = ""
    footwear: Literal[""] | Id = ""
    trust: tuple[Id, ...] = ()
    note: FreeText = ""
    recorded: AwareDatetime | None = None

    def set_up(self, condition: SetUpId) -> float | str | None:
        """How that part of the set-up was noted, or None when it was not."""
        noted: float | str | None = getattr(self, condition)
        return noted or None

    @property
    def counts(self) -> bool:
        return not self.void

    @property
    def pain_limited(self) -> bool:
        """Whether pain ended or limited the trial, so that it says nothing on strength."""
        return self.ended == "pain" or "pain-limits" in self.signs

    @property
    def broken_off(self) -> bool:
        """Whether the person could not go on, or was not allowed to; it is no sign of ability."""
        return self.ended in BROKEN_OFF

    @model_validator(mode="after")
    def _fits_together(self) -> Trial:
        seen = set(self.signs)
        about: Mapping[str, Mapping[str, object]] = {
            "time": self.sign_times,
            "count": self.sign_counts,
            "leg": self.sign_legs,
        }
        for what, signs in about.items():
            stray = next((sign for sign in signs if sign not in seen), None)
            if stray is not None:
                raise ValueError(f"there is a {what} for {stray}, which is not among the signs")
        if self.corrected_from is not None and not self.correction:
            raise ValueError("a corrected value needs its reason in correction")
        if any(later < earlier for earlier, later in pairwise(self.splits)):
            raise ValueError("the splits are not in order of time")
        return self


class Skip(Strict):
    """A test that was not done, and why."""

    test: Id
    side: Side | None = None
    reason: Line

    def covers(self, test: str, side: Side | None) -> bool:
        """Whether it is about that test on that leg; one without a side is about both."""
        return self.test == test and same_leg(self.side, side)


class Addendum(Strict):
    """What is said of a finished screen afterwards; the screen itself is never rewritten.

    Attributes:
        reason: Why; it becomes the reason of the correction or of the striking out.
        trial: The trial it is about, counted from 1 over all trials of the session.
        value: What that trial's value should have been, in the unit of its test.
    """

    written: AwareDatetime
    reason: Reason
    text: FreeText = ""
    trial: Annotated[int, Field(ge=1)] | None = None
    value: Annotated[float, Field(ge=-90, le=3600)] | None = None
    struck_out: bool = False

    @model_validator(mode="after")
    def _says_one_thing(self) -> Addendum:
        if self.value is not None and self.struck_out:
            raise ValueError("a trial is either given another value or void, not both")
        if self.changes_a_trial and self.trial is None:
            raise ValueError("the trial whose value is corrected or that is void is missing")
        if not self.changes_a_trial and not self.text.strip():
            raise ValueError("an addendum needs a text, or a trial with a value or --strike")
        return self

    @property
    def changes_a_trial(self) -> bool:
        return self.value is not None or self.struck_out

    def applied_to(self, trial: Trial) -> Trial:
        """The trial as it should have been; doing it twice changes nothing more.

        What stood there before any correction stays beside it. What ended at its full time no
        longer did when its value is another.
        """
        if self.struck_out:
            return trial.model_copy(update={"void": self.reason})
        if self.value is None:
            return trial
        moved = trial.ended == "cap" and self.value != trial.value
        return trial.model_copy(
            update={
                "value": self.value,
                "corrected_from": trial.corrected_from if trial.correction else trial.value,
                "correction": self.reason,
                "ended": "" if moved else trial.ended,
            }
        )


class PlanEdit(Strict):
    """What the clinician changed of the suggested plan."""

    drop: tuple[Id, ...] = ()
    doses: Mapping[Id, Line] = Field(default_factory=dict)
    order: tuple[Id, ...] = ()
    own: tuple[Line, ...] = ()
    next_visit: FreeText = ""


class Session(Strict):
    """One screen, from the first question to the last trial.

    ``stopped`` holds the reason when the whole screen was stopped for safety.
    ``synthetic`` marks invented people. ``under_way`` is a trial that was begun and not saved when
    the file was written; it is there only if the program died, and is marked as struck out.
    ``follows`` is the id of the session of the same patient that this one is a re-test of.
    ``plan`` is what was changed of the suggested plan; None where nothing was.
    ``addenda`` were added after the end, oldest first; ``trials`` stay as they were saved.
    ``set_up_said`` is what was said on the set-up of the trials that follow, which is newer than
    what trials say; `AS_USUAL` where an earlier note was taken back.
    """

    format: Literal[3] = 3
    id: SessionId
    protocol: Id
    protocol_digest: FreeText = ""
    started: AwareDatetime
    finished: AwareDatetime | None = None
    stopped: FreeText = ""
    synthetic: bool = False
    follows: Literal[""] | SessionId = ""
    client: Client
    intake: Intake = Field(default_factory=Intake)
    trials: tuple[Trial, ...] = ()
    under_way: Trial | None = None
    set_up_said: Mapping[SetUpId, SetUpValue] = Field(default_factory=dict)
    skipped: tuple[Skip, ...] = ()
    plan: PlanEdit | None = None
    addenda: tuple[Addendum, ...] = ()

    @field_validator("addenda")
    @classmethod
    def _about_trials_there_are(
        cls, addenda: tuple[Addendum, ...], info: ValidationInfo
    ) -> tuple[Addendum, ...]:
        trials = info.data.get("trials")
        for place, addendum in enumerate(addenda, start=1):
            if trials is not None and (addendum.trial or 0) > len(trials):
                raise ValueError(
                    f"addendum {place} is about trial {addendum.trial}, and the session has "
                    f"{len(trials)}"
                )
        return addenda

    @property
    def as_amended(self) -> Session:
        """The session with its trials as the addenda say they should have been.

        This is what is judged. Its addenda stay in it, and taking it twice changes nothing more.
        """
        trials = list(self.trials)
        for addendum in self.addenda:
            if addendum.trial is not None:
                trials[addendum.trial - 1] = addendum.applied_to(trials[addendum.trial - 1])
        return self.model_copy(update={"trials": tuple(trials)}) if self.addenda else self

    def addendum_of(self, place: int) -> int | None:
        """The number of the addendum that holds for a trial, both counted from 1; None for none.

        Of several changes of one trial the last holds, and that it is void before any value.
        """
        mine = [
            (one.struck_out, number)
            for number, one in enumerate(self.addenda, start=1)
            if one.trial == place and one.changes_a_trial
        ]
        return max(mine)[1] if mine else None

    def holds(self, number: int) -> bool:
        """Whether no other addendum replaces what one, counted from 1, changed of a trial."""
        addendum = self.addenda[number - 1]
        place = addendum.trial if addendum.changes_a_trial else None
        return place is None or self.addendum_of(place) == number

    @property
    def full(self) -> bool:
        return len(self.trials) >= MOST_TRIALS

    @property
    def set_up_noted(self) -> Mapping[SetUpId, float | str | None]:
        """What was said on the set-up of the trials that follow; None where it was taken back."""
        said = self.set_up_said
        return {name: None if value == AS_USUAL else value for name, value in said.items()}

    # What comes of it. Where it is more than words, a finished session goes on.

    def with_set_up_noted(self, said: Mapping[SetUpId, float | str | None]) -> Session:
        """The session with more said on the set-up; see `set_up_noted`."""
        words = {name: AS_USUAL if value is None else value for name, value in said.items()}
        return self.model_copy(update={"set_up_said": {**self.set_up_said, **words}})

    def with_caution_asked_again(
        self, caution: str, because: str, day: date, *, yes: bool
    ) -> Session:
        """The session after a safety question was asked once more; a no is known and cleared."""
        intake = self.intake
        if yes:
            update: dict[str, object] = {"cautions": (*intake.cautions, caution)}
        else:
            words, when = f"asked again, and no: {because}", day.isoformat()
            again = Cleared(caution=caution, by=ASKED_AGAIN, when=when, words=words)
            update = {"cleared": (*intake.cleared, again)}
        return self.model_copy(update={"intake": intake.model_copy(update=update)})

    def with_trial(self, trial: Trial) -> Session:
        update = {"trials": (*self.trials, trial), "under_way": None, "finished": None}
        return self.model_copy(update=update)

    def with_trial_amended(self, place: int, trial: Trial) -> Session:
        """The session with another trial at a place, from 0; IndexError where there is none."""
        trials = list(self.trials)
        trials[place] = trial
        return self.model_copy(update={"trials": tuple(trials), "finished": None})

    def with_skip(self, skip: Skip) -> Session:
        """The session with one test noted as not done; a second note for it replaces the first."""
        others = tuple(s for s in self.skipped if (s.test, s.side) != (skip.test, skip.side))
        return self.model_copy(update={"skipped": (*others, skip), "finished": None})

    def trials_of(self, test: str, side: Side | None = None) -> tuple[Trial, ...]:
        """All trials of a test on a side that were not struck out, cued ones too."""
        return tuple(
            trial
            for trial in self.trials
            if trial.test == test and trial.side == side and trial.counts
        )


def new_session_id(now: datetime, random_hex: str) -> str:
    """An id that sorts by time and names nobody: ``2026-03-02-0915-7f3a``."""
    return f"{now:%Y-%m-%d-%H%M}-{random_hex}"
