"""Patients without end: a case drawn from the evidence network, the same for the same seed.

Somebody is drawn with one driver, in hard cases with a second one; then a history that goes with
it, and from the rows of the network what every test shows. Of several drawn so, the first is taken
whose perfect record comes to an answer that fits the difficulty:

- easy: the driver is likely, and what is usual with it shows more than it does as a rule;
- middle: the driver is named alone, likely or only possible, and the signs are as the rows have it;
- hard: there is a second driver; one of the two or both are named.

The people are as the rows say; this tries nobody's judgement in them. Everybody is invented.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Literal, get_args

from screen_tui.engine.assess import assess
from screen_tui.engine.findings import Causes
from screen_tui.engine.results import Assessment
from screen_tui.fields import Goal, Side
from screen_tui.practice.case import Case, Said, TrueDriver, Truth
from screen_tui.practice.drawn_trials import Person, shown_by
from screen_tui.practice.drawn_words import COMES, MORE, NO, SAYS, WISHES
from screen_tui.practice.scoring import Wanted
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

MOST_SEED = 999_999

NOBODY = "This protocol names no drivers, so no patient can be drawn."

NONE = "none"
_USUAL_NONE = 3.0
"""How many times as common as any other answer "none" is."""

_NOT_WITH: Mapping[str, frozenset[str]] = {
    "swelling": frozenset({"within-6-h"}),
    "falls": frozenset({"two-or-more"}),
}
"""Answers that call for a referral or another test of safety: another case."""

_OF_AGE = frozenset({"balance", "deconditioning"})
"""Drivers that are drawn from 55 on, and not of somebody who runs."""

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
    """Draw a patient.

    Args:
        protocol: The protocol; another one gives other patients.
        difficulty: How plainly the driver shows.
        seed: The same one gives the same patient.
        driver: The driver on the side of the complaint; None for one that follows from the seed.

    Raises:
        KeyError: The protocol has no such driver.
    """
    if driver is None:
        driver = driver_of(protocol, difficulty, seed)
    protocol.driver(driver)
    name = f"{driver} {difficulty} {seed}"
    best: tuple[float, Case] | None = None
    for attempt in range(MOST_TRIES):
        drawn = _Drawn.of(
            protocol, driver, difficulty, f"{name} {attempt}", case_id(driver, difficulty, seed)
        )
        found = assess(protocol, true_session(drawn.case, protocol, 0))
        fit = _fit(found, drawn, difficulty)
        if best is None or fit > best[0]:
            case = drawn.with_truth(protocol, found)
            title = f"{case.title} ({difficulty}, seed {seed})"
            best = (fit, case.model_copy(update={"title": title}))
        if fit == 1.0:
            break
    assert best is not None
    return best[1]


def driver_of(protocol: ScreenProtocol, difficulty: Difficulty, seed: int) -> str:
    """The driver a seed stands for where none is named."""
    known = [one.id for one in protocol.drivers]
    return random.Random(f"driver {difficulty} {seed}").choice(known)


def case_id(driver: str, difficulty: Difficulty, seed: int) -> str:
    """The id of the case, which gives nothing away."""
    name = f"{driver} {difficulty} {seed}"
    return "patient-" + sha256(name.encode()).hexdigest()[:6]


def _fit(found: Assessment, drawn: _Drawn, difficulty: Difficulty) -> float:
    """1 where the answer of a perfect record is that of the difficulty; less the further off."""
    leading = {(one.driver, one.side) for one in found.leading}
    wanted = {(one.driver, one.side) for one in drawn.drivers}
    first = (drawn.drivers[0].driver, drawn.drivers[0].side)
    fits = {
        "easy": found.outcome == "likely" and leading == wanted,
        "middle": found.outcome in ("likely", "possible") and leading == wanted,
        "hard": first in leading and leading <= wanted,
    }[difficulty]
    if fits:
        return 1.0
    chance = next((d.chance for d in found.drivers if (d.driver, d.side) == first), 0.0)
    return chance * 0.9


@dataclass(frozen=True)
class _Drawn:
    """One person of those that are drawn, with a case whose truth is not filled in yet."""

    case: Case
    drivers: tuple[TrueDriver, ...]

    @classmethod
    def of(
        cls, protocol: ScreenProtocol, driver: str, difficulty: Difficulty, seed: str, name: str
    ) -> _Drawn:
        draw = random.Random(seed)
        side: Side = draw.choice(("left", "right"))
        names = [driver]
        if difficulty == "hard":
            names.append(draw.choice([one.id for one in protocol.drivers if one.id != driver]))
        drivers = tuple(
            TrueDriver(driver=one, side=side if protocol.driver(one).sided else None)
            for one in names
        )
        frail = bool(_OF_AGE & {*names})
        history = _history(protocol, driver, draw, frail=frail)
        client = _client(name, history, draw, frail=frail)
        person = Person(client, _state(protocol, drivers), side, clear=difficulty == "easy")
        story = _story(client, side, history)
        case = Case(
            practice_case=1,
            id=name,
            title=f"{_who(client)}, {side} knee",
            story=story,
            patient=client,
            said=_said(protocol, side, history, hidden=difficulty != "easy", draw=draw),
            shown=shown_by(protocol, person, draw),
            truth=Truth(outcome="undetermined", reasons=("Not drawn yet.",)),
        )
        return cls(case, drivers)

    def with_truth(self, protocol: ScreenProtocol, found: Assessment) -> Case:
        """The case with its truth: the drivers drawn, as far as a perfect record shows them."""
        leading = {(one.driver, one.side) for one in found.leading}
        shown = tuple(one for one in self.drivers if (one.driver, one.side) in leading)
        named = shown or self.drivers[:1]
        engine = Wanted.by_engine(found)
        same = set(engine.drivers) == set(named) and found.outcome in _NAMES_DRIVERS
        outcome = found.outcome if same else "possible"
        truth = Truth(
            outcome=outcome,
            drivers=named,
            reasons=_reasons(protocol, found, self.drivers),
            next_tests=engine.next_tests[:6],
            start=engine.start[:6] if same else (),
            leave_out=engine.leave_out[:9],
            engine_differs="" if same else NOT_PLAIN,
        )
        return self.case.model_copy(update={"truth": truth})


_NAMES_DRIVERS = ("likely", "possible", "mixed")
NOT_PLAIN = "The signs of this patient do not point plainly to the driver that was drawn."


def _reasons(
    protocol: ScreenProtocol, found: Assessment, drivers: Sequence[TrueDriver]
) -> tuple[str, ...]:
    """What was drawn, and what of it a perfect record shows most plainly."""
    names = " and ".join(words.driver_name(protocol, one.driver) for one in drivers)
    reasons = [f"Drawn with: {names}."]
    for one in found.drivers:
        if (one.driver, one.side) in {(d.driver, d.side) for d in drivers}:
            reasons += [
                f"{protocol.test(finding.test).name}{f', {finding.side}' if finding.side else ''}: "
                f"{finding.words}."
                for finding in one.speaks_for[:3]
            ]
    return tuple(dict.fromkeys(reasons))[:9]


def _state(protocol: ScreenProtocol, drivers: Sequence[TrueDriver]) -> int:
    has = {(one.driver, one.side) for one in drivers}
    causes = Causes.of(protocol).all
    return sum(1 << place for place, one in enumerate(causes) if (one.driver, one.side) in has)


# ------------------------------------------------------------------ the person


def _client(
    name: str, history: Mapping[str, Answer], draw: random.Random, *, frail: bool
) -> Client:
    runs = history.get("activity") == "running-or-jumping"
    low, high = (55, 86) if frail else (18, 45) if runs else (28, 78)
    age = draw.randint(low, high)
    sex: Literal["female", "male"] = draw.choice(("female", "male"))
    height = round(draw.gauss(164 if sex == "female" else 177, 6))
    return Client(
        label=f"P-{int(name[-4:], 16) % 9000 + 1000}",
        age=age,
        sex=sex,
        height_cm=height,
        mass_kg=round(draw.uniform(21, 31) * (height / 100) ** 2),
    )


def _history(
    protocol: ScreenProtocol, driver: str, draw: random.Random, *, frail: bool
) -> dict[str, Answer]:
    """Answers about the complaint: each as common as its odds with the driver make it.

    What contradicts an earlier answer is not drawn: more load comes with more load, giving way
    and stiffness with the complaint of that name, and nobody runs who is frail, falls or does less.
    """
    found: dict[str, Answer] = {}
    for question in protocol.history:
        says = SAYS.get(question.id, {})
        options = [
            one
            for one in question.answers
            if one.id in says
            and one.id not in _NOT_WITH.get(question.id, ())
            and _goes_with(question.id, one.id, found, frail=frail)
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


def _goes_with(question: str, answer: str, before: Mapping[str, Answer], *, frail: bool) -> bool:
    runs = "running" in _several(before, "worse-with")
    if frail and answer in ("running", "running-or-jumping"):
        return False
    match question:
        case "load-change":
            more = before.get("onset") == "more-load"
            return (answer == "up" or not more) and not (runs and answer == "down")
        case "falls":
            return not runs or answer == NONE
        case "activity":
            weak = before.get("load-change") == "down" or before.get("falls", NONE) != NONE
            return (
                answer == "running-or-jumping"
                if runs
                else not (weak and answer == "running-or-jumping")
            )
    return True


def _several(history: Mapping[str, Answer], question: str) -> tuple[str, ...]:
    answer = history.get(question, ())
    return answer if isinstance(answer, tuple) else ()


def _goals(history: Mapping[str, Answer]) -> tuple[Goal, ...]:
    goals = [_GOAL_OF[one] for one in _several(history, "worse-with") if one in _GOAL_OF]
    return tuple(dict.fromkeys(goals))[:2] or ("walking",)


def _complaints(history: Mapping[str, Answer]) -> tuple[str, ...]:
    found = ["pain"]
    if history.get("giving-way", NONE) != NONE:
        found.append("giving-way")
    if history.get("morning-stiffness", NONE) != NONE:
        found.append("stiffness")
    return tuple(found)


def _who(client: Client) -> str:
    return f"A {'woman' if client.sex == 'female' else 'man'} of {client.age}"


def _story(client: Client, side: Side, history: Mapping[str, Answer]) -> str:
    they = "She" if client.sex == "female" else "He"
    comes = COMES.get(str(history.get("activity")), "of this town")
    wishes = " and ".join(WISHES[goal] for goal in _goals(history))
    return f"{_who(client)} {comes} comes about the {side} knee. {they} {wishes}."


# ------------------------------------------------------------------ what they say


def _said(
    protocol: ScreenProtocol,
    side: Side,
    history: Mapping[str, Answer],
    *,
    hidden: bool,
    draw: random.Random,
) -> tuple[Said, ...]:
    """An answer to every question that is asked of them; safety questions are all no."""
    own: dict[str, Answer] = {
        "weight_bearing": "full",
        "side": side,
        "complaints": _complaints(history),
        "goals": _goals(history),
        **history,
    }
    found: list[Said] = []
    cautions = {caution.id for caution in protocol.cautions}
    for question in questions_of(protocol):
        if question.id in cautions:
            found.append(Said(question=question.id, says=draw.choice(NO), truth=False))
        elif question.id == "recent_surgery_weeks":
            found.append(Said(question=question.id, says="I have never had surgery on it."))
        elif question.id in own:
            answer = own[question.id]
            truth: Any = answer
            says = _in_words(question.id, answer)
            late = hidden and question.history and draw.random() < SELDOM
            found.append(
                Said(
                    question=question.id,
                    says=MORE if late else says,
                    only_when_asked=(says,) if late else (),
                    truth=truth,
                )
            )
    return tuple(found)


def _in_words(question: str, answer: Answer) -> str:
    ids = answer if isinstance(answer, tuple) else (str(answer),)
    return " ".join(SAYS[question][one] for one in ids)
