"""What is answered so far, as far as it decides which tests follow."""

from __future__ import annotations

from screen_tui.fields import Goal
from screen_tui.session.model import Intake
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import Question, typed_problem

_DECIDE = ("weight_bearing", "one_leg_confirmed", "surgery", "precautions")
_ALL_GOALS: tuple[Goal, ...] = ("walking", "chair", "floor", "stairs")


def intake_so_far(form: IntakeForm) -> Intake:
    """The answers that decide which tests follow; what is still open restricts nothing."""
    answers = form.answers
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
