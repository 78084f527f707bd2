"""Patients without end: a case drawn from the evidence network, the same for the same seed.

Somebody is drawn with one driver, in hard cases with a second one; then a history that goes with
it, and from the rows of the network what every test shows. Of several drawn so, the first is taken
whose perfect record comes to an answer that fits the difficulty:

- easy: the driver is likely, and what is usual with it shows more than it does as a rule;
- middle: the driver is named alone, likely or only possible, and the signs are as the rows have it;
- hard: there is a second driver; one of the two or both are named.

Some come in the first weeks after surgery, and of those whom no driver is asked for some must be
referred first.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from hashlib import sha256
from operator import itemgetter
from typing import Any, Literal, NamedTuple, get_args

from screen_tui.engine.assess import assess
from screen_tui.engine.findings import Causes
from screen_tui.engine.results import Assessment
from screen_tui.fields import Goal, Side
from screen_tui.practice.case import Case, Said, TrueDriver, Truth
from screen_tui.practice.drawn_trials import Person
from screen_tui.practice.drawn_words import (
    ALARMS,
    COMES,
    MORE,
    NO,
    OPERATIONS,
    SAYS,
    WISHES,
    Operation,
)
from screen_tui.practice.scoring import program_answers
from screen_tui.practice.staging import true_session
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.session.model import Client
from screen_tui.trial.intake_questions import Answer, questions_of

Difficulty = Literal["easy", "middle", "hard"]
DIFFICULTIES: tuple[Difficulty, ...] = get_args(Difficulty)

MOST_TRIES = 60
"""People that are drawn at most until one fits the difficulty."""

SELDOM = 0.4
"""How often, beyond easy cases, an answer comes only when asked further."""

ALONE = 0.3
"""How often nobody else is at home (judgement)."""

MOST_SEED = 999_999

REFERRAL = "refer-first"
"""Stands for a driver where somebody is to be drawn whom a doctor must see first."""

REFERRED = 0.125
"""The share of them among those whom no driver is asked for (judgement)."""

OPERATED = 0.2
"""The share of people after surgery, of those with a driver that often follows it (judgement)."""

AFTER_SURGERY = frozenset({"quad-weakness", "knee-extension"})
CONFIRMED_FROM = 8
"""Weeks after surgery from which on full load on one leg is confirmed."""

NOBODY = "This protocol names no drivers, so no patient can be drawn."

NONE = "none"
_USUAL_NONE = 3.0
"""How many times as common as any other answer "none" is."""

FRAIL_FROM = 55
_OF_AGE = frozenset({"balance", "deconditioning"})
"""Drivers that are drawn from that age on, and not of somebody who runs."""

_GOAL_OF: Mapping[str, Goal] = {
    "stairs-down": "stairs",
    "stairs-up": "stairs",
    "rising": "chair",
    "walking": "walking",
    "running": "walking",
    "one-leg": "walking",
    "squatting": "floor",
    "kneeling": "floor",
    "long-sitting": "chair",
}


def drawn_case(
    protocol: ScreenProtocol, difficulty: Difficulty, seed: int, driver: str | None = None
) -> Case:
    """Draw a patient, the same for the same protocol, difficulty, seed and driver.

    The driver is that on the side of the complaint, or `REFERRAL`; None for one that follows from
    the seed.

    Raises:
        KeyError: The protocol has no such driver.
    """
    if driver is None:
        driver = driver_of(protocol, difficulty, seed)
    if driver != REFERRAL:
        protocol.driver(driver)
    tries: list[tuple[float, _Drawn, Assessment]] = []
    while len(tries) < MOST_TRIES and (not tries or tries[-1][0] < 1.0):
        drawn = _Drawn(protocol, driver, difficulty, seed, len(tries))
        found = assess(protocol, true_session(drawn.case, protocol, 0))
        tries.append((drawn.fit(found), drawn, found))
    _, best, found = max(tries, key=itemgetter(0))
    return best.with_truth(found)


def driver_of(protocol: ScreenProtocol, difficulty: Difficulty, seed: int) -> str:
    """The driver that follows from a seed where none is named, or `REFERRAL`."""
    draw = random.Random(f"driver {difficulty} {seed}")
    driver = draw.choice([one.id for one in protocol.drivers])
    return REFERRAL if draw.random() < REFERRED and _alarms(protocol) else driver


def _alarms(protocol: ScreenProtocol) -> list[str]:
    return [one.id for one in protocol.cautions if one.id in ALARMS]


def case_id(driver: str, difficulty: Difficulty, seed: int) -> str:
    """The id of the case, which gives nothing away."""
    name = f"{driver} {difficulty} {seed}"
    return "patient-" + sha256(name.encode()).hexdigest()[:6]


class _Background(NamedTuple):
    """What is settled of a person and stays however often they are drawn.

    ``alarm`` is the id of the safety question that is a yes, or "".
    """

    alarm: str
    operation: Operation | None
    weeks_since: int
    pain_now: int
    pain_worst: int
    alone: bool

    @classmethod
    def of(cls, protocol: ScreenProtocol, driver: str, name: str) -> _Background:
        draw = random.Random(f"{name} background")
        alarm = draw.choice(_alarms(protocol)) if driver == REFERRAL else ""
        operated = driver in AFTER_SURGERY and draw.random() < OPERATED
        operation = draw.choice(OPERATIONS) if operated else None
        weeks, now, more = draw.randint(3, 16), draw.randint(0, 4), draw.randint(1, 3)
        return cls(alarm, operation, weeks, now, now + more, draw.random() < ALONE)

    @property
    def young(self) -> bool:
        return self.operation is not None and self.operation.ages[1] < FRAIL_FROM

    @property
    def fixed(self) -> Mapping[str, tuple[str, str]]:
        """Answers to the history that follow, each with its words."""
        if self.alarm:
            return ALARMS[self.alarm].history
        return self.operation.history if self.operation is not None else {}


class _Drawn:
    """One person of those that are drawn, with a case whose truth is not filled in yet."""

    def __init__(
        self,
        protocol: ScreenProtocol,
        driver: str,
        difficulty: Difficulty,
        seed: int,
        attempt: int,
    ) -> None:
        name = f"{driver} {difficulty} {seed}"
        self.protocol, self.difficulty = protocol, difficulty
        self.background = background = _Background.of(protocol, driver, name)
        self.draw = draw = random.Random(f"{name} {attempt}")
        self.side: Side = draw.choice(("left", "right"))
        known = [one.id for one in protocol.drivers]
        names = [draw.choice(known) if driver == REFERRAL else driver]
        if difficulty == "hard":
            out = {*names, *(_OF_AGE if background.young else ())}
            names.append(draw.choice([one for one in known if one not in out]))
        self.drivers = tuple(
            TrueDriver(driver=one, side=self.side if protocol.driver(one).sided else None)
            for one in names
        )
        self.has = [(one.driver, one.side) for one in self.drivers]
        self.frail = bool(_OF_AGE & {*names})
        self.history = self._history(names[0])
        identity = case_id(driver, difficulty, seed)
        client = self._client(f"P-{int(identity[-4:], 16) % 9000 + 1000}")
        causes = enumerate(Causes.of(protocol).all)
        state = sum(1 << place for place, one in causes if (one.driver, one.side) in self.has)
        person = Person(protocol, client, state, self.side, difficulty == "easy", draw)
        who = f"A {'woman' if client.sex == 'female' else 'man'} of {client.age}"
        self.case = Case(
            practice_case=1,
            id=identity,
            title=f"{who}, {self.side} knee ({difficulty}, seed {seed})",
            story=self._story(who, "She" if client.sex == "female" else "He"),
            patient=client,
            said=tuple(self._said()),
            shown=person.shown(),
            truth=Truth(outcome="undetermined", reasons=("Not drawn yet.",)),
        )

    def fit(self, found: Assessment) -> float:
        """1 where the answer of a perfect record is that of the difficulty; less further off."""
        if self.background.alarm:
            return 1.0
        leading = {(one.driver, one.side) for one in found.leading}
        first, wanted = self.has[0], {*self.has}
        fits = {
            "easy": found.outcome == "likely" and leading == wanted,
            "middle": found.outcome in ("likely", "possible") and leading == wanted,
            "hard": first in leading and leading <= wanted,
        }[self.difficulty]
        chance = next((d.chance for d in found.drivers if (d.driver, d.side) == first), 0.0)
        return 1.0 if fits else chance * 0.9

    def with_truth(self, found: Assessment) -> Case:
        """The case with its truth: the drivers drawn, as far as a perfect record shows them."""
        if self.background.alarm:
            caution = self.protocol.caution(self.background.alarm)
            reasons = (f"{caution.name}: {caution.means}", caution.next_step)
            truth = Truth(outcome="refer-first", reasons=reasons)
            return self.case.model_copy(update={"truth": truth})
        program = program_answers(found, self.protocol)
        leading = {(one.driver, one.side) for one in found.leading}
        shown = (one for one in self.drivers if (one.driver, one.side) in leading)
        named = tuple(shown) or self.drivers[:1]
        names_drivers = found.outcome in ("likely", "possible", "mixed")
        same = {*program.drivers} == {*named} and names_drivers
        truth = Truth(
            outcome=found.outcome if same else "possible",
            drivers=named,
            reasons=self._reasons(found),
            next_tests=program.next_tests,
            start=program.start if same else (),
            leave_out=program.leave_out,
            engine_differs="" if same else NOT_PLAIN,
        )
        return self.case.model_copy(update={"truth": truth})

    def _reasons(self, found: Assessment) -> tuple[str, ...]:
        names = " and ".join(words.driver_name(self.protocol, one.driver) for one in self.drivers)
        reasons = [f"Drawn with: {names}."]
        for one in found.drivers:
            if (one.driver, one.side) in self.has:
                reasons += [
                    f"{self.protocol.test(finding.test).name}"
                    f"{f', {finding.side}' if finding.side else ''}: {finding.words}."
                    for finding in one.speaks_for[:3]
                ]
        return tuple(dict.fromkeys(reasons))[:9]

    # -- the person

    def _client(self, label: str) -> Client:
        draw, operation = self.draw, self.background.operation
        runs = self.history.get("activity") == "running-or-jumping"
        low, high = (FRAIL_FROM, 86) if self.frail else (18, 45) if runs else (28, 78)
        age = draw.randint(*(operation.ages if operation is not None else (low, high)))
        sex: Literal["female", "male"] = draw.choice(("female", "male"))
        height = round(draw.gauss(164 if sex == "female" else 177, 6))
        mass = round(draw.uniform(21, 31) * (height / 100) ** 2)
        return Client(label=label, age=age, sex=sex, height_cm=height, mass_kg=mass)

    def _history(self, driver: str) -> dict[str, Answer]:
        """Answers about the complaint: each as common as its odds with the driver make it."""
        draw, fixed = self.draw, self.background.fixed
        found: dict[str, Answer] = {}
        for question in self.protocol.history:
            if question.id in fixed:
                answer = fixed[question.id][0]
                found[question.id] = (answer,) if question.several else answer
                continue
            options = [
                one
                for one in question.answers
                if one.id in SAYS.get(question.id, {})
                and self._goes_with(question.id, one.id, found)
            ]
            if not options:
                continue
            weights = [
                one.odds.get(driver, 1.0) ** 2 * (_USUAL_NONE if one.id == NONE else 1.0)
                for one in options
            ]
            first = draw.choices(options, weights)[0].id
            found[question.id] = (first,) if question.several else first
            if question.several and first != NONE and draw.random() < 0.5:
                second = draw.choices(options, weights)[0].id
                if second not in (NONE, first):
                    found[question.id] = (first, second)
        return found

    def _goes_with(self, question: str, answer: str, before: Mapping[str, Answer]) -> bool:
        """Whether an answer contradicts none before it.

        More load comes with more load; nobody runs who is frail, falls, does less, or comes with
        an alarm or after surgery.
        """
        runs = "running" in _several(before, "worse-with")
        if answer in ("running", "running-or-jumping") and (
            self.frail or self.background.alarm or self.background.operation is not None
        ):
            return False
        match question:
            case "load-change":
                more = before.get("onset") == "more-load"
                return (answer == "up" or not more) and not (runs and answer == "down")
            case "falls":
                return not runs or answer == NONE
            case "activity":
                weak = before.get("load-change") == "down" or before.get("falls", NONE) != NONE
                running = answer == "running-or-jumping"
                return running if runs else not (weak and running)
        return True

    @property
    def _goals(self) -> tuple[Goal, ...]:
        goals = (_GOAL_OF[one] for one in _several(self.history, "worse-with"))
        return tuple(dict.fromkeys(goals))[:2] or ("walking",)

    def _story(self, who: str, they: str) -> str:
        comes = COMES.get(str(self.history.get("activity")), "of this town")
        wishes = " and ".join(WISHES[goal] for goal in self._goals)
        story = f"{who} {comes} comes about the {self.side} knee. {they} {wishes}."
        operation = self.background.operation
        if operation is None:
            return story
        return f"{story} {self.background.weeks_since} weeks ago {they.lower()} {operation.story}."

    # -- what they say

    def _said(self) -> Iterator[Said]:
        """An answer to every question that is asked of them; one safety question at most is yes.

        Beyond easy cases some come only when asked further, and what must lead to a referral does.
        """
        background, draw, hidden = self.background, self.draw, self.difficulty != "easy"
        also = {"giving-way": "giving-way", "morning-stiffness": "stiffness"}
        felt = (also[one] for one in also if self.history.get(one, NONE) != NONE)
        own: dict[str, Answer] = {
            "weight_bearing": "full",
            "side": self.side,
            "complaints": ("pain", *felt),
            "goals": self._goals,
            "pain_now": str(background.pain_now),
            "pain_worst": str(background.pain_worst),
            "alone_at_home": background.alone,
            **self.history,
        }
        after = {said.question: said for said in _after_surgery(background)}
        order: dict[str, Answer] = {"weight_bearing": "full"}
        if background.operation is not None:
            order["recent_surgery_weeks"] = str(background.weeks_since)
        cautions = {caution.id for caution in self.protocol.cautions}
        for question in questions_of(self.protocol):
            asked = question.id
            if asked == background.alarm:
                alarm = ALARMS[asked]
                yield _in_turn(asked, True, alarm.says, alarm.more, hidden=hidden)
            elif asked in cautions:
                yield Said(question=asked, says=draw.choice(NO), truth=False)
            elif asked in after and question.asked(order):
                yield after[asked]
            elif asked in own:
                says = background.fixed.get(asked, ("", ""))[1] or _in_words(asked, own[asked])
                late = hidden and question.history and draw.random() < SELDOM
                yield _in_turn(asked, own[asked], MORE if late else "", says, hidden=late)


NOT_PLAIN = "The signs of this patient do not point plainly to the driver that was drawn."


def _in_turn(question: str, truth: Any, says: str, more: str, *, hidden: bool) -> Said:
    if hidden:
        return Said(question=question, says=says, only_when_asked=(more,), truth=truth)
    return Said(question=question, says=f"{says} {more}".strip(), truth=truth)


def _several(history: Mapping[str, Answer], question: str) -> tuple[str, ...]:
    answer = history.get(question, ())
    return answer if isinstance(answer, tuple) else ()


def _after_surgery(background: _Background) -> Iterator[Said]:
    weeks, operation = background.weeks_since, background.operation
    if operation is None:
        yield Said(question="recent_surgery_weeks", says="I have never had surgery on it.")
        return
    yield Said(question="recent_surgery_weeks", says=f"{weeks} weeks now.", truth=weeks)
    yield Said(question="surgery", says=operation.says, truth=operation.kind)
    yield Said(question="precautions", says="Nobody has forbidden anything.")
    confirmed = weeks >= CONFIRMED_FROM
    says = "The surgeon let me stand on it alone." if confirmed else "Not on that leg alone yet."
    yield Said(question="one_leg_confirmed", says=says, truth=confirmed)


def _in_words(question: str, answer: Answer) -> str:
    if question in ("pain_now", "pain_worst"):
        return f"{answer} of ten."
    ids = answer if isinstance(answer, tuple) else (str(answer),)
    return " ".join(SAYS[question][one] for one in ids)
