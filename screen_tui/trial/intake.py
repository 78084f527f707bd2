"""The questions before testing, as a form that is filled key by key.

They are on pages: safety, with the knee of the complaint first; the history, with what decides the
tests; the person. Keys, by kind of question:

* yes or no: ``y`` and ``n``. After a yes to a safety question the form stays: the screen says
  'refer first' then, and going on is a decision of its own (Enter or down). After Enter on an
  emergency nothing is asked but whose note it is. ``c`` makes of such a yes one that is known and
  cleared; by whom and when is asked next.
* a choice: the key of an option chooses it. Several: they toggle, Enter goes on; where one of them
  is "none", it rules out the others.
* numbers and texts: `with_text` takes what is typed; Enter accepts and goes on, or says why not.
* answers that hardly go together: ``y`` leaves them, ``n`` goes to the first of them.
* everywhere: up, down, Tab and Shift+Tab move. Backspace takes back the answer; where there is
  nothing to take back it goes to the question before.

The form goes on to the next question that is open. Nothing is answered beforehand: an open safety
question is not a no, and `nothing_else` answers those alone that were on the screen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from screen_tui.errors import EntryRefusedError
from screen_tui.fields import Goal
from screen_tui.protocol.knowledge import RULES_OUT
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Cleared, Client, Intake, Session
from screen_tui.trial.intake_questions import (
    CLEAR,
    CLEARED,
    PARTS,
    READY,
    REFER,
    TYPED,
    Answer,
    Part,
    Question,
    number_words,
    parse_number,
    questions_of,
    typed_problem,
)
from screen_tui.trial.keymap import action_key

_EDGES = {"down": +1, "tab": +1, "up": -1, "shift+tab": -1}


@dataclass(frozen=True, slots=True)
class OptionRow:
    """An option of a question, and the key that chooses it."""

    key: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """A question as it is drawn: what was chosen or typed, whether it was passed with Enter."""

    question: Question
    given: Answer | None
    accepted: bool
    current: bool
    error: str

    @property
    def id(self) -> str:
        return self.question.id

    @property
    def raised(self) -> bool:
        return self.question.caution and self.given is True

    @property
    def typed(self) -> str:
        given = self.given
        return given if self.question.kind in TYPED and isinstance(given, str) else ""

    @property
    def answer(self) -> str:
        """The answer in words; "" while there is none."""
        if self.typed and self.question.kind == "number":
            return number_words(self.question, self.typed)
        chosen = ", ".join(option.label for option in self.options if option.chosen)
        return self.typed or chosen or (self.question.left_open if self.accepted else "")

    @property
    def options(self) -> tuple[OptionRow, ...]:
        question, given = self.question, self.given
        if question.doubt is not None:
            right = OptionRow("y", "it is so", given is True)
            return right, OptionRow("n", "change an answer", chosen=False)
        if question.kind == "yes-no":
            yes, no = OptionRow("y", "yes", given is True), OptionRow("n", "no", given is False)
            if not question.caution or given not in (True, CLEARED):
                return yes, no
            return yes, no, OptionRow(CLEAR, "known and cleared", given == CLEARED)
        chosen = given if isinstance(given, tuple) else (given,)
        return tuple(
            OptionRow(key, label, value in chosen)
            for key, (value, label) in zip(question.option_keys, question.options, strict=True)
        )


@dataclass(frozen=True)
class IntakeForm:
    """The questions of 'Before testing' with the answers so far; the module says what keys do.

    Attributes:
        questions: All questions, also those that are not asked at present.
        at: The id of the question the keys go to.
        accepted: Ids of open questions that were passed with Enter.
        refusals: Why an answer was refused, by question id; cleared when it is changed.
        settled: Ids of questions that are not put: at a retest, what does not change.
        unasked: Ids of questions that need no answer, since they had none before.
        done: The complete form was accepted with Enter at its end.
    """

    questions: tuple[Question, ...]
    at: str
    answers: Mapping[str, Answer] = field(default_factory=dict)
    accepted: frozenset[str] = frozenset()
    refusals: Mapping[str, str] = field(default_factory=dict)
    settled: frozenset[str] = frozenset()
    unasked: frozenset[str] = frozenset()
    done: bool = False

    @classmethod
    def blank(cls, protocol: ScreenProtocol) -> IntakeForm:
        questions = questions_of(protocol)
        return cls(questions, questions[0].id)

    @classmethod
    def restored(
        cls,
        protocol: ScreenProtocol,
        answers: Mapping[str, Answer],
        accepted: Iterable[str],
        at: str,
    ) -> IntakeForm:
        """Give the form as it was left; what was typed and is not possible says why again.

        There must be no answer that `mismatches` names.
        """
        form = replace(cls.blank(protocol), answers=dict(answers), accepted=frozenset(accepted))
        asked = [question.id for question in form._asked]
        form = replace(form, at=at if at in asked else form.at)
        refusals = {
            question.id: problem
            for question in form._asked
            if question.kind in TYPED
            and question.id != form.at
            and answers.get(question.id)
            and (problem := form._problem(question))
        }
        return replace(form, refusals=refusals)

    def without(self, settled: frozenset[str]) -> IntakeForm:
        """The form that does not put these questions, at the first that is open."""
        form = replace(self, settled=settled)
        return replace(form, at=form._asked[0].id)._to_open()

    def _to_open(self) -> IntakeForm:
        return self if self._open(self.current) else self._go_on()

    @property
    def to_save(self) -> dict[str, Answer]:
        """The answers to write down before there is a session; no code that tells who it is."""
        refused = {q.id for q in self.questions if q.id == "label" and self._problem(q)}
        return {name: answer for name, answer in self.answers.items() if name not in refused}

    @property
    def begun(self) -> bool:
        return bool(self.answers or self.accepted)

    @property
    def current(self) -> Question:
        return next(question for question in self.questions if question.id == self.at)

    @property
    def missing(self) -> tuple[str, ...]:
        """Ids of the questions that still need an answer, or a possible one."""
        return tuple(one.id for one in self._left_open if self._waits(one))

    @property
    def _left_open(self) -> tuple[Question, ...]:
        return tuple(
            one for one in self.counted if one.id not in self.unasked and self._problem(one)
        )

    @property
    def refers_now(self) -> bool:
        """Whether an emergency was answered yes and accepted, so that the note comes next."""
        return any(
            one.emergency and one.id in self.accepted and one.id in self.raised
            for one in self.questions
        )

    def _waits(self, question: Question) -> bool:
        """Whether an answer is still waited for; in an emergency few are."""
        return not self.refers_now or bool(question.clears) or question.id in _WHOSE_NOTE

    @property
    def complete(self) -> bool:
        return not self.missing

    @property
    def tellable(self) -> bool:
        """Whether there is a `result`: only what hardly goes together may be open."""
        return not self._needed

    @property
    def _needed(self) -> tuple[Question, ...]:
        missing = self.missing
        return tuple(q for q in self.counted if q.id in missing and q.doubt is None)

    @property
    def raised(self) -> tuple[str, ...]:
        return tuple(q.id for q in self.questions if q.caution and self.answers.get(q.id) is True)

    @property
    def progress(self) -> tuple[int, int]:
        """How many questions are answered or were passed, of how many that are asked now."""
        counted = [one for one in self._led_to if self._waits(one)]
        open_now = [one for one in counted if self._open(one) or self._refused(one)]
        return len(counted) - len(open_now), len(counted)

    @property
    def _led_to(self) -> list[Question]:
        return [one for one in self._asked if one.id != READY and not one.aside]

    def _refused(self, question: Question) -> bool:
        return bool(question.kind in TYPED and self.answers.get(question.id)) and bool(
            self._problem(question)
        )

    @property
    def part(self) -> Part:
        return self._part_of(self.current)

    @property
    def parts(self) -> tuple[Part, ...]:
        there = {self._part_of(question) for question in self._asked}
        return tuple(part for part in PARTS if part in there)

    def key(self, key: str, character: str | None) -> IntakeForm:
        """Take a key press; a key without a meaning here changes nothing."""
        action = action_key(key, character)
        if action in _EDGES:
            return self._leave(_EDGES[action])
        if action == "enter":
            return self._accept()
        if action == "backspace":
            answered = self.answers.get(self.at) not in (None, (), "")
            return self._with(None) if answered else self._go(-1)
        return self if self.current.kind in TYPED else self._choose(action)

    def with_text(self, text: str) -> IntakeForm:
        """Take what is typed now as the answer to the current question, a number or a text."""
        return self._with(text)

    def go_to(self, question_id: str) -> IntakeForm:
        """Move to another question that is asked at present; a key without one changes nothing."""
        ids = [question.id for question in self._asked]
        if question_id not in ids:
            return self
        return self._leave(ids.index(question_id) - ids.index(self.at))

    def nothing_else(self, seen: Collection[str]) -> IntakeForm:
        """Answer that there is nothing to tell to all on this page that is open and may be so.

        Where a line of them was not on the screen, which shows in the ids of those seen, the form
        moves there and answers none.
        """
        silent = self._silent
        unseen = [one.id for one in silent if one.id not in seen]
        if unseen:
            return self.go_to(unseen[0])
        form = self
        for one in silent:
            form = replace(form, at=one.id)._with(one.nothing)
            form = replace(form, accepted=form.accepted | {one.id})
        # Back to the first that is open, wherever the last line was read.
        return replace(form, at=form._asked[0].id)._to_open() if silent else self

    def may_be_silent(self) -> bool:
        return bool(self._silent)

    @property
    def _silent(self) -> list[Question]:
        lines = (one for one in self._asked if self._part_of(one) == self.part)
        return [one for one in lines if one.nothing is not None and self._open(one)]

    def rows(self) -> tuple[QuestionRow, ...]:
        return tuple(
            QuestionRow(
                REFER if one.id == READY and self.raised else one,
                self.answers.get(one.id),
                one.id in self.accepted,
                one.id == self.at,
                self.refusals.get(one.id, ""),
            )
            for one in self._asked
        )

    def page(self) -> tuple[QuestionRow, ...]:
        return tuple(row for row in self.rows() if self._part_of(row.question) == self.part)

    def result(self) -> tuple[Client, Intake]:
        """Give the answers as the session holds them.

        Raises:
            EntryRefusedError: Something is still missing; the sentence names it.
        """
        if self._needed:
            raise EntryRefusedError(f"Still open: {'; '.join(one.text for one in self._needed)}")
        given = {
            question: value
            for question in self.counted
            if not question.caution
            and question.doubt is None
            and not self._refused(question)
            and (value := self._value(question)) is not None
        }
        person: dict[str, Any] = {}
        asked: dict[str, Any] = {}
        history: dict[str, tuple[str, ...]] = {}
        cleared: dict[str, dict[str, str]] = {}
        for question, value in given.items():
            if question.clears:
                cleared.setdefault(question.clears, {})[question.field] = value
            elif question.history:
                history[question.id] = value if isinstance(value, tuple) else (value,)
            else:
                of_person = question.id in Client.model_fields
                (person if of_person else asked)[question.id] = value
        return Client(**person), Intake(
            **asked,
            history=history,
            cautions=self.raised,
            cut_short=True if self.refers_now and self._left_open else None,
            safety_asked=tuple(q.id for q in self.questions if q.caution and q.id in self.answers),
            cleared=tuple(Cleared(caution=one, **said) for one, said in cleared.items()),
        )

    @property
    def text(self) -> str:
        answer = self.answers.get(self.at)
        return answer if self.current.kind in TYPED and isinstance(answer, str) else ""

    @property
    def counted(self) -> tuple[Question, ...]:
        """The questions whose answers count, put or not."""
        return tuple(question for question in self.questions if question.asked(self.answers))

    @property
    def _asked(self) -> tuple[Question, ...]:
        return tuple(one for one in self.counted if one.id not in self.settled)

    def _part_of(self, question: Question) -> Part:
        # What is left to ask at a retest fits on one page.
        merged = self.settled - {READY} and question.part == "person"
        return "history" if merged else question.part

    def _problem(self, question: Question) -> str:
        answer = self.answers.get(question.id)
        if question.kind in TYPED:
            return typed_problem(question, answer if isinstance(answer, str) else "")
        if question.optional or answer not in (None, ()):
            return ""
        if question.caution:
            return "Answer y or n: an open safety question is not a no."
        if question.kind == "yes-no":
            return "Answer y or n."
        return f"Choose with {question.keys_in_short}."

    def _open(self, question: Question) -> bool:
        return question.id not in self.answers and question.id not in self.accepted

    def _value(self, question: Question) -> Any:
        answer = self.answers.get(question.id)
        if question.kind == "number":
            return parse_number(question, answer) if isinstance(answer, str) else None
        if question.id in ("pain_now", "pain_worst") and isinstance(answer, str):
            return int(answer)
        return answer.strip() if isinstance(answer, str) else answer

    def _choose(self, action: str) -> IntakeForm:
        question = self.current
        if question.kind == "yes-no":
            return self._yes_or_no(question, action)
        value = question.option_of(action)
        if value is None:
            return self
        if question.kind == "choice":
            return self._with(value)._go_on()
        before = self.answers.get(question.id, ())
        chosen = set(before if isinstance(before, tuple) else ()) ^ {value}
        if value in chosen:
            chosen = {RULES_OUT} if value == RULES_OUT else chosen - {RULES_OUT}
        return self._with(tuple(v for v, _ in question.options if v in chosen))

    def _yes_or_no(self, question: Question, action: str) -> IntakeForm:
        if action == CLEAR and question.caution and self.answers.get(self.at) is True:
            return self._with(CLEARED)._go(+1)
        if action not in ("y", "n"):
            return self
        if question.doubt is not None and action == "n":
            there = {one.id for one in self._asked}
            return self.go_to(next((one for one in question.doubt.about if one in there), self.at))
        answered = self._with(action == "y")
        return answered if question.caution and action == "y" else answered._go_on()

    def _accept(self) -> IntakeForm:
        problem = self._problem(self.current)
        if problem and self.at not in self.unasked:
            return replace(self, refusals={**self.refusals, self.at: problem}, done=False)
        accepted = self
        if self.at != READY:
            accepted = replace(self, accepted=self.accepted | {self.at})
            done_now = accepted.refers_now and accepted.complete
            if not done_now and any(one.id == READY for one in self._asked):
                return accepted._go_on()
        if accepted.complete:
            return replace(accepted, done=True)
        missing = accepted.missing
        first = next((one.id for one in accepted._asked if one.id in missing), accepted.at)
        back = replace(accepted, at=first)
        return replace(back, refusals={**back.refusals, back.at: back._problem(back.current)})

    def _leave(self, step: int) -> IntakeForm:
        """Move on; a typed answer that is not possible stays as it is and says why."""
        problem = self._problem(self.current) if self.text else ""
        refusals = {**self.refusals, self.at: problem} if problem else self.refusals
        return replace(self, refusals=refusals)._go(step)

    def _go(self, step: int) -> IntakeForm:
        ids = [question.id for question in self._asked]
        place = min(max(ids.index(self.at) + step, 0), len(ids) - 1)
        return replace(self, at=ids[place], done=False)

    def _go_on(self) -> IntakeForm:
        """Move to the next open question, back to one that was passed over, or to the end."""
        ids = [one.id for one in self._asked]
        still = [
            one.id
            for one in self._led_to
            if self._open(one) and one.id not in self.unasked and self._waits(one)
        ]
        behind = ids[ids.index(self.at) + 1 :]
        after = [one for one in still if one in behind]
        ahead = after or [one for one in still if one != self.at]
        end = READY if READY in ids else self.at
        return replace(self, at=ahead[0] if ahead else end, done=False)

    def _with(self, answer: Answer | None) -> IntakeForm:
        answers = {name: value for name, value in self.answers.items() if name != self.at}
        # An answer that is changed may be meant now as it hardly was before.
        about = {one.id for one in self.questions if one.doubt and self.at in one.doubt.about}
        answers = {name: value for name, value in answers.items() if name not in about}
        if answer not in (None, "", ()):
            answers[self.at] = answer
        refusals = {name: why for name, why in self.refusals.items() if name != self.at}
        accepted = self.accepted - {self.at}
        return replace(self, answers=answers, refusals=refusals, accepted=accepted, done=False)


_WHOSE_NOTE = ("side", "label", "age")
"""Without these there is no note."""


# What is answered so far, as far as it decides which tests follow.

_DECIDE = ("weight_bearing", "one_leg_confirmed", "surgery", "precautions")
_ALL_GOALS: tuple[Goal, ...] = ("walking", "chair", "floor", "stairs")


def intake_so_far(form: IntakeForm) -> Intake:
    """The answers that decide which tests follow; what is still open restricts nothing."""
    answers = {one.id: form.answers.get(one.id) for one in form.counted}
    chosen = {
        name: answers[name]
        for name in (*_DECIDE, "side", "goals")
        if answers.get(name) not in (None, ())
    }
    weeks = answers.get("recent_surgery_weeks")
    if weeks and not typed_problem(_question(form, "recent_surgery_weeks"), str(weeks)):
        chosen["recent_surgery_weeks"] = weeks
    return Intake.model_validate({"goals": _ALL_GOALS, **chosen, "cautions": form.raised})


def age_so_far(form: IntakeForm) -> int | None:
    """The age in years; None while it is not given."""
    age = form.answers.get("age")
    if not age or typed_problem(_question(form, "age"), str(age)):
        return None
    return int(str(age))


def _question(form: IntakeForm, question_id: str) -> Question:
    return next(question for question in form.questions if question.id == question_id)


# The answers of an earlier session as a form: asked again at a retest, or to be changed.

_SETTLED = frozenset(
    {"side", "complaints", "goals", "alone_at_home"}
    | {"label", "age", "sex", "height_cm", "mass_kg"}
)
"""Questions that a retest does not put, where they have an answer: `a` changes it at any time."""
_A_YEAR = 52


def form_again(protocol: ScreenProtocol, earlier: Session, today: date) -> IntakeForm:
    """The questions of a retest: safety and what may have changed, with the answers of last time.

    Safety, pain and falls are asked anew. Weeks since surgery are counted on, for a year.
    """
    intake = earlier.intake
    anew = {"pain_now", "pain_worst", "note", "recent_surgery_weeks", "surgery"}
    anew |= {question.id for question in protocol.history if question.at_retest == "asked"}
    anew |= {question.id for question in questions_of(protocol) if question.part == "safety"}
    then = answers_of(protocol, earlier.client, intake)
    answers = {name: one for name, one in then.items() if name not in anew - {"side"}}
    if intake.recent_surgery_weeks is not None:
        weeks = intake.recent_surgery_weeks + (today - earlier.started.date()).days // 7
        if weeks <= _A_YEAR:
            answers["recent_surgery_weeks"] = str(weeks)
            if intake.surgery is not None:
                answers["surgery"] = intake.surgery
    accepted = {"recent_surgery_weeks", "precautions"} - set(answers)
    return asking_less(protocol, IntakeForm.restored(protocol, answers, accepted, ""))


def asking_less(protocol: ScreenProtocol, form: IntakeForm) -> IntakeForm:
    """The form without the questions that a retest does not put, at the first that is open."""
    holds = {question.id for question in protocol.history if not question.at_retest}
    settled = {
        question.id
        for question in form.questions
        if question.id in _SETTLED | holds and (question.optional or question.id in form.answers)
    }
    return form.without(frozenset(settled))


def form_of(protocol: ScreenProtocol, session: Session) -> IntakeForm:
    """The questions with the answers of a session, to change one; the last line is not there.

    What was not asked then needs no answer now, unless an emergency ended the questions; and what
    hardly goes together was asked about.
    """
    form = IntakeForm.restored(
        protocol, answers_of(protocol, session.client, session.intake), (), ""
    )
    known = {one.id: True for one in form.rows() if one.id.startswith("doubt:")}
    form = replace(form, answers={**form.answers, **known}, settled=frozenset({READY}))
    if session.intake.cut_short:
        return replace(form, accepted=frozenset(form.raised))
    passed = {q.id for q in form.questions if q.optional and q.id not in form.answers}
    return replace(form, accepted=frozenset(passed), unasked=frozenset(form.missing))


def answers_of(protocol: ScreenProtocol, client: Client, intake: Intake) -> dict[str, Answer]:
    """What was answered before testing, as the form holds it; what was not asked has no answer."""
    questions = questions_of(protocol)
    given = {one.id: _given(one, client, intake) for one in questions}
    given["weight_bearing"] = intake.load_asked
    answers = {name: one for name, one in given.items() if one not in (None, (), "")}
    put = (one.id for one in questions if one.asked(answers))
    return {name: answers[name] for name in put if name in answers}


def _given(question: Question, client: Client, intake: Intake) -> Answer | None:
    if question.caution:
        if any(one.caution == question.id for one in intake.cleared):
            return CLEARED
        if question.id in intake.cautions:
            return True
        return False if question.id in intake.safety_asked else None
    if question.clears:
        cleared = (one for one in intake.cleared if one.caution == question.clears)
        return next((getattr(one, question.field) for one in cleared), None)
    if question.history:
        # As far as it may be answered now.
        possible = {value for value, _ in question.options}
        then = tuple(one for one in intake.history.get(question.id, ()) if one in possible)
        return then if question.kind == "several" else next(iter(then), None)
    model = client if question.id in Client.model_fields else intake
    value: Answer | float | None = getattr(model, question.id, None)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:g}"
    return value
