"""The answers of a session as questions again: nothing is lost, and each may be changed."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.file import load_session
from screen_tui.session.model import Intake, WeightBearing
from screen_tui.trial.battery import plan_battery
from screen_tui.trial.intake import form_of, intake_so_far
from screen_tui.trial.intake_questions import READY

PROTOCOL = load_protocol([protocols_folder()])
VIGNETTES = Path(__file__).parents[1] / "vignettes"
FILES = [*sorted(demo_folder().glob("*.toml")), *sorted(VIGNETTES.glob("[0-9]*.toml"))]


def put(intake: Intake) -> Intake:
    """Without what an older file does not tell: which safety questions were put, in what order."""
    order = [caution.id for caution in PROTOCOL.cautions]
    return intake.model_copy(
        update={
            "safety_asked": (),
            "cautions": tuple(sorted(intake.cautions, key=order.index)),
            "goals": tuple(sorted(intake.goals)),
            "complaints": tuple(sorted(intake.complaints)),
            "precautions": tuple(sorted(intake.precautions)),
            "history": {name: tuple(sorted(one)) for name, one in sorted(intake.history.items())},
            # Asked only of some; without the question it says nothing.
            "one_leg_confirmed": False,
        }
    )


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_answers_of_a_session_come_back_as_they_were(path: Path) -> None:
    session = load_session(path)
    form = form_of(PROTOCOL, session)
    assert form.complete
    client, intake = form.result()
    assert client == session.client
    assert put(intake) == put(session.intake)
    asked = {question.id for question in form.questions}
    assert set(intake.safety_asked) <= {*session.intake.safety_asked, *intake.cautions} & asked | {
        one.caution for one in intake.cleared
    }


@pytest.mark.parametrize("path", FILES[:4], ids=lambda path: path.stem)
def test_no_line_leads_on_from_an_answer_that_is_changed(path: Path) -> None:
    form = form_of(PROTOCOL, load_session(path))
    assert READY not in [row.id for row in form.rows()]
    form = form.go_to("side").key("2", "2")
    assert (form.at, form.answers["side"]) == ("side", "right")
    assert form.key("enter", None).done


LOADS = "12345"
"""The keys of weight-bearing, full first."""


@pytest.mark.parametrize("via", LOADS)
@pytest.mark.parametrize("load", LOADS)
def test_weight_bearing_changed_and_changed_back_gives_the_same_tests(load: str, via: str) -> None:
    limits = {"precautions": ("no-kneeling",), "one_leg_confirmed": True}
    loads = dict(zip(LOADS, get_args(WeightBearing), strict=True))
    intake = Intake(goals=("walking", "floor"), weight_bearing=loads[load])
    if load != "1":
        intake = intake.model_copy(update=limits if load == "2" else {"precautions": ("brace",)})
    session = load_session(FILES[0]).model_copy(update={"intake": intake})
    before = plan_battery(PROTOCOL, form_of(PROTOCOL, session).result()[1])
    for at, key in enumerate((via, load)):
        form = form_of(PROTOCOL, session).go_to("weight_bearing").key(key, key)
        if "one_leg_confirmed" in form.missing:
            form = form.go_to("one_leg_confirmed").key("y", "y")
        session = session.model_copy(update={"intake": form.result()[1]})
        assert at or plan_battery(PROTOCOL, intake_so_far(form)) == plan_battery(
            PROTOCOL, session.intake
        ), "what is shown is what follows"
    assert plan_battery(PROTOCOL, session.intake) == before
