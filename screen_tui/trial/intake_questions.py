"""The questions of 'Before testing' as data, and which typed answers are possible."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Literal

from pydantic import BaseModel

from screen_tui.files.text import first_control_character
from screen_tui.protocol.knowledge import RULES_OUT, Caution, HistoryQuestion
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import INSTEAD, Cleared, Client, Intake, what_it_tells
from screen_tui.trial.intake_doubts import DOUBTS, Doubt
from screen_tui.trial.numbers import (
    HEIGHT_CHARACTERS,
    MASS_CHARACTERS,
    height_cm,
    mass_kg,
    read_number,
)

Kind = Literal["yes-no", "choice", "several", "number", "text", "ready"]
Part = Literal["safety", "history", "person"]
"""The pages of the questions, in their order."""
PARTS: tuple[Part, ...] = ("safety", "history", "person")
Answer = bool | str | tuple[str, ...]
"""True or False for yes-no, an option's value, several of them, or the text as typed.

A safety question may be answered `CLEARED`, too.
"""

CLEARED = "cleared"
"""The answer to a safety question whose yes is known and was cleared."""
CLEAR = "c"
"""The key that gives it, once the answer is yes."""

NOT_ASKED = "not asked"

TYPED: tuple[Kind, ...] = ("number", "text")
"""Kinds that are answered by typing."""

READY = "ready"
"""The last line of the questions: Enter there begins the tests."""

Answers = Mapping[str, Answer]
"""As the form holds them: by question id."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Attributes:
        id: Its id: that of the caution or of the question of the history, the name of the field it
            fills, or, of what is cleared, the caution and the field with a colon between.
        short: Its short name, for one line beside the answer.
        options: (value, label) of what may be chosen.
        keys: The keys that choose them; 1, 2, 3... when left out; ``also``, further ones.
        left_open: What is said of it when it was left open.
        model: The model whose field of the same name says what is possible.
        emergency: Whether a yes ends the questions: it is one that cannot wait.
        nothing: The answer that there is nothing of the kind; None where a no is a fact of its own.
        aside: Nobody is led to it: it is answered by who moves there.
        doubt: The doubt it asks about: yes leaves the answers as they are.
        clears: The safety question of whose clearing it is a part; "" for all others.
    """

    id: str
    kind: Kind
    text: str
    short: str
    part: Part = "history"
    options: tuple[tuple[str, str], ...] = ()
    keys: str = ""
    also: str = ""
    optional: bool = False
    left_open: str = "none"
    details: tuple[str, ...] = ()
    unit: str = ""
    model: type[BaseModel] | None = None
    caution: bool = False
    emergency: bool = False
    history: bool = False
    nothing: Answer | None = None
    aside: bool = False
    doubt: Doubt | None = None
    clears: str = ""
    asked: Callable[[Answers], bool] = field(default=lambda _: True, compare=False)

    @property
    def field(self) -> str:
        return self.id.rpartition(":")[2]

    @property
    def option_keys(self) -> str:
        return self.keys or "123456789"[: len(self.options)]

    @property
    def keys_in_short(self) -> str:
        """The same in a few characters, such as ``1-5``, ``0-9 t`` or ``f m u``."""
        digits = "".join(key for key in self.option_keys if key.isdecimal())
        letters = (key for key in self.option_keys if not key.isdecimal())
        run = f"{digits[0]}-{digits[-1]}" if digits and digits in "0123456789" else " ".join(digits)
        return " ".join([*([run] if run else []), *letters])

    def option_of(self, key: str) -> str | None:
        for keys in (self.option_keys, self.also):
            if len(key) == 1 and key in keys:
                return self.options[keys.index(key)][0]
        return None


def _choices(values: Sequence[str], **labels: str) -> tuple[tuple[str, str], ...]:
    """Options whose labels are their values, but for those that are named."""
    return tuple((value, labels.get(value, value.replace("-", " "))) for value in values)


def _limited(answers: Answers) -> bool:
    surgery = answers.get("recent_surgery_weeks")
    return bool(surgery) or answers.get("weight_bearing") not in (None, "full")


def _load_unsure(answers: Answers, until: int) -> bool:
    """Whether full load on one leg needs a word: as tolerated, or so many weeks after surgery."""
    weight_bearing = answers.get("weight_bearing")
    if weight_bearing != "full":
        return weight_bearing == "as-tolerated"
    weeks = str(answers.get("recent_surgery_weeks", "")).strip()
    return weeks.isdecimal() and int(weeks) < until


_PAIN = _choices([str(score) for score in range(11)])
_PAIN_KEYS = "0123456789t"

_SIDE = Question(
    "side",
    "choice",
    "Which knee is the complaint about?",
    "Knee of the complaint",
    "safety",
    options=_choices(("left", "right", "both")),
    also="lr",
)

_SITUATION = (
    Question(
        "weight_bearing",
        "choice",
        "How much weight may this leg bear?",
        "Weight-bearing",
        options=_choices(("full", "as-tolerated", "partial", "touch", "none"), touch="touch only"),
        details=("The order of the surgeon or physician; when unknown, choose none.",),
    ),
    Question(
        "one_leg_confirmed",
        "yes-no",
        "Full load on one leg confirmed?",
        "Full load on one leg",
        details=("Without it no one-leg, step-down or floor test is offered.",),
    ),
    Question(
        "recent_surgery_weeks",
        "number",
        "Surgery on this knee within a year? Weeks since then",
        "Surgery within a year",
        optional=True,
        nothing="",
        unit="weeks",
        model=Intake,
    ),
    Question(
        "surgery",
        "choice",
        "What kind of surgery?",
        "Kind of surgery",
        options=_choices(
            ("replacement", "ligament", "meniscus", "bone", "extensor", "other"),
            replacement="joint replacement",
            extensor="extensor repair",
        ),
        asked=lambda answers: "recent_surgery_weeks" in answers,
    ),
    Question(
        "precautions",
        "several",
        "Which other limits has the surgeon or physician set?",
        "Other limits",
        options=(
            ("brace", "brace worn"),
            ("bend-limited", "bending limited"),
            ("no-kneeling", "no kneeling"),
            ("no-active-extension", "no active straightening"),
        ),
        optional=True,
        details=("What they rule out is not offered.",),
        # A limit that was set holds on under any load, and is seen and taken away here.
        asked=lambda answers: _limited(answers) or bool(answers.get("precautions")),
    ),
    Question(
        "complaints",
        "several",
        "What is the complaint?",
        "Complaint",
        options=_choices(("pain", "giving-way", "weakness", "stiffness")),
        optional=True,
    ),
    Question(
        "goals",
        "several",
        "What does the patient want to do again?",
        "Goals",
        options=_choices(
            ("walking", "chair", "floor", "stairs"),
            chair="rising from a chair",
            floor="rising from the floor",
        ),
        details=("They decide which tests are offered.",),
    ),
    *(
        Question(
            f"pain_{when}",
            "choice",
            f"{text}, 0 to 10; t is 10",
            short,
            options=_PAIN,
            keys=_PAIN_KEYS,
            optional=True,
            left_open=NOT_ASKED,
        )
        for when, text, short in (
            ("now", "Pain now", "Pain now"),
            ("worst", "Pain at its worst in the last week", "Pain at its worst"),
        )
    ),
    Question(
        "alone_at_home",
        "yes-no",
        "Alone at home?",
        "Alone at home",
        optional=True,
        left_open=NOT_ASKED,
    ),
)

_PERSON = (
    Question(
        "label",
        "text",
        "Patient code",
        "Patient code",
        "person",
        details=("Such as K-014. No name, no date of birth, no number others could look up.",),
        model=Client,
    ),
    Question("age", "number", "Age in years", "Age", "person", unit="years", model=Client),
    Question(
        "sex",
        "choice",
        "Sex",
        "Sex",
        "person",
        options=_choices(("female", "male", "unspecified")),
        keys="fmu",
        also="123",
        details=("Cut-offs are published by sex; unspecified leaves those out.",),
    ),
    Question(
        "height_cm",
        "number",
        "Height in cm, or in feet and inches such as 5'10\" or 5 10",
        "Height",
        "person",
        optional=True,
        unit="cm",
        model=Client,
        aside=True,
    ),
    Question(
        "mass_kg",
        "number",
        "Mass in kg, or in pounds such as 160 lb",
        "Mass",
        "person",
        optional=True,
        unit="kg",
        model=Client,
        aside=True,
    ),
    Question(
        "note", "text", "Comment", "Comment", "person", optional=True, model=Intake, aside=True
    ),
)

_READY = Question(READY, "ready", "Begin the tests", "Begin the tests", "person", optional=True)
REFER = replace(_READY, text="End here", short="End here: refer first")
"""The last line once a safety question was answered yes."""


def questions_of(protocol: ScreenProtocol) -> tuple[Question, ...]:
    """Give all questions in order: the knee and safety, the history, the person, the doubts."""
    safety = (question for caution in protocol.cautions for question in _of_caution(caution))
    history = (_of_history(question) for question in protocol.history)
    until = max((rule.weeks_below for rule in protocol.limits if rule.until_confirmed), default=0)
    before = (
        replace(question, asked=lambda answers: _load_unsure(answers, until))
        if question.id == "one_leg_confirmed"
        else question
        for question in _SITUATION
    )
    doubts = (
        Question(
            f"doubt:{one.id}",
            "yes-no",
            one.sentence,
            f"? {one.short}",
            "person",
            doubt=one,
            asked=one.arises,
        )
        for one in DOUBTS
    )
    return (_SIDE, *safety, *before, *history, *_PERSON, *doubts, _READY)


def _of_caution(caution: Caution) -> tuple[Question, ...]:
    """A safety question, and what is asked of it where its yes is known and was cleared."""
    asked = Question(
        caution.id,
        "yes-no",
        caution.question,
        caution.label or caution.name,
        "safety",
        details=caution.details,
        caution=True,
        emergency=caution.urgency == "now",
        nothing=False,
    )
    clearing = (
        ("by", "Cleared by whom?", "  cleared by"),
        ("when", "Cleared when?", "  when"),
        ("words", "In words, may be left out", "  in words"),
    )
    return (
        asked,
        *(
            Question(
                f"{caution.id}:{name}",
                "text",
                text,
                short,
                "safety",
                optional=name == "words",
                model=Cleared,
                clears=caution.id,
                asked=lambda answers: answers.get(caution.id) == CLEARED,
            )
            for name, text, short in clearing
        ),
    )


def _of_history(question: HistoryQuestion) -> Question:
    none = RULES_OUT in (answer.id for answer in question.answers)
    nothing: Answer | None = ((RULES_OUT,) if question.several else RULES_OUT) if none else None
    return Question(
        question.id,
        "several" if question.several else "choice",
        question.label,
        question.label,
        options=tuple((answer.id, answer.label) for answer in question.answers),
        keys="".join(answer.key for answer in question.answers),
        optional=True,
        left_open=NOT_ASKED,
        history=True,
        nothing=nothing,
    )


def parse_number(question: Question, typed: str) -> int | float | None:
    """Give the number that was typed, or None where it is not one, or not a whole one if need be.

    A decimal comma is read as a point; height and mass may be in feet, inches and pounds.
    """
    if question.id in _SIZES:
        return _SIZES[question.id](typed)
    number = read_number(typed.strip())
    if number is None or _limits(question).get("type") != "integer":
        return number
    return int(number) if re.fullmatch(r"-?\d+", typed.strip(), re.ASCII) else None


_SIZES = {"height_cm": height_cm, "mass_kg": mass_kg}
_SIZE_CHARACTERS = {"height_cm": HEIGHT_CHARACTERS, "mass_kg": MASS_CHARACTERS}
_LONGEST_NUMBER = 8


def number_words(question: Question, typed: str) -> str:
    """What was typed with its unit; where it was in other units, the metric value as well."""
    number = parse_number(question, typed)
    if number is None or question.id not in _SIZES:
        return f"{typed} {question.unit}".strip()
    metric = f"{number:g} {question.unit}"
    same = typed.strip().replace(",", ".") in (f"{number:g}", metric)
    return metric if same else f"{typed.strip()} = {metric}"


def typed_problem(question: Question, typed: str) -> str:
    """Say why a typed answer is not possible, in a sentence; "" when it is."""
    if not typed.strip():
        return "" if question.optional else "Type an answer; this one is needed."
    if question.kind != "number":
        return _text_problem(question, typed.strip())
    limits = _limits(question)
    least, most = limits["minimum"], limits["maximum"]
    number = parse_number(question, typed)
    if number is None:
        whole = "a whole number" if limits["type"] == "integer" else "a number"
        unit = f" {question.unit}" if question.unit else ""
        return f"{typed.strip()} is not {whole}; type {least:g} to {most:g}{unit}."
    if not least <= number <= most:
        return f"{number_words(question, typed)} cannot be; type {least:g} to {most:g}."
    return ""


def longest(question: Question) -> int:
    """How many characters may be typed."""
    usual = len("5 ft 10.5 in") if question.id in _SIZES else _LONGEST_NUMBER
    return int(_limits(question).get("maxLength", usual))


def characters(question: Question) -> str:
    """The only characters that may be typed; "" for all that a text may hold."""
    if question.kind != "number":
        return ""
    return _SIZE_CHARACTERS.get(question.id, "0123456789.,")


def _text_problem(question: Question, text: str) -> str:
    if len(text) > longest(question):
        return f"That is {len(text)} characters; at most {longest(question)} fit."
    found = first_control_character(text)
    if found is not None:
        return f"It holds the control character {found}; type it again as plain text."
    kind = what_it_tells(text) if question.id == "label" else ""
    return f"That looks like {kind}; {INSTEAD}." if kind else ""


def _limits(question: Question) -> Mapping[str, Any]:
    """The JSON schema of the field, so that limits are in the session model alone."""
    return _schema(question.model, question.field) if question.model else {}


@lru_cache
def _schema(model: type[BaseModel], field: str) -> Mapping[str, Any]:
    schema: Mapping[str, Any] = model.model_json_schema()["properties"][field]
    # An optional field is "this or null".
    return next((part for part in schema.get("anyOf", ()) if part["type"] != "null"), schema)


# Whether answers that were saved still fit the questions.

_NO_QUESTION = "is not a question of this protocol"


def questions_digest(protocol: ScreenProtocol) -> str:
    """Give ``sha256:`` and the hash of all that is asked, word for word.

    An answer is to what was asked: a no to other words is another answer.
    """
    asked = [
        [q.id, q.kind, q.text, q.short, q.options, q.optional, q.details, q.unit]
        for q in questions_of(protocol)
    ]
    return "sha256:" + hashlib.sha256(json.dumps(asked).encode()).hexdigest()


def mismatches(
    protocol: ScreenProtocol, answers: Mapping[str, Answer], accepted: Iterable[str], at: str
) -> tuple[tuple[tuple[str | int, ...], str], ...]:
    """Say what of a saved form does not fit: its place, as ``("answers", "side")``, and why."""
    questions = {question.id: question for question in questions_of(protocol)}
    found: list[tuple[tuple[str | int, ...], str]] = []
    for name, answer in answers.items():
        if name not in questions:
            found.append((("answers", name), _NO_QUESTION))
        elif reason := _impossible(questions[name], answer):
            found.append((("answers", name), reason))
    found += [
        (("accepted", index), _NO_QUESTION)
        for index, name in enumerate(accepted)
        if name not in questions
    ]
    if at not in questions:
        found.append((("at",), _NO_QUESTION))
    return tuple(found)


def _impossible(question: Question, answer: Answer) -> str:
    """Say why something can never have been answered to a question; "" when it can.

    What was typed may still be refused by `typed_problem`: it need not be finished.
    """
    if question.kind in TYPED:
        if not isinstance(answer, str):
            return "must be text, as it was typed"
        return "" if len(answer) <= longest(question) else "is longer than may be typed"
    if question.kind == "yes-no":
        fits = isinstance(answer, bool) or (question.caution and answer == CLEARED)
        return "" if fits else "must be true or false"
    values = [value for value, _ in question.options]
    if question.kind == "choice":
        return "" if answer in values else f"must be one of {', '.join(values)}"
    fits = isinstance(answer, tuple) and set(answer) <= set(values)
    return "" if fits else f"must be an array of {', '.join(values)}"
