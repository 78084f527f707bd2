"""A case file says what is wrong with it, and where; nothing takes it for anything else."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from support.practice_case import PROTOCOL, STANCE, case_data, load_case, said, write_case

from screen_tui.cli import check
from screen_tui.cli.check import check_paths
from screen_tui.cli.main import main
from screen_tui.errors import FileRefusedError
from screen_tui.practice.files import load_practice
from screen_tui.session.store import SessionStore


def refusals(data: dict[str, Any], folder: Path) -> list[str]:
    path = write_case(data, folder)
    try:
        load_case(path, PROTOCOL)
    except FileRefusedError as refusal:
        return [str(problem).removeprefix(str(path)) for problem in refusal.problems]
    return []


def with_stance(**changed: Any) -> dict[str, Any]:
    """A case whose only trial is a stance with some fields changed; None takes one out."""
    shown = copy.deepcopy(STANCE) | changed
    return case_data({name: value for name, value in shown.items() if value is not None})


def with_truth(**changed: Any) -> dict[str, Any]:
    return case_data(truth=case_data()["truth"] | changed)


def sighting(**changed: Any) -> dict[str, Any]:
    return {"sign": "pelvis-drops", "at_s": [3.0], "from_front": "The hip sinks."} | changed


def test_a_case_that_fits_is_read(tmp_path: Path) -> None:
    path = write_case(case_data(), tmp_path)
    case = load_case(path, PROTOCOL)
    assert case.id == "small-case"
    assert case.shown[0].signs[0].at_s == (3.0, 8.0)


MISTAKES: dict[str, tuple[dict[str, Any], str, str]] = {
    "no title": (case_data(id="small-case") | {"title": ""}, "title", "must not be empty"),
    "a name for a label": (
        case_data() | {"patient": case_data()["patient"] | {"label": "Mu\u0308ller 1950"}},
        "patient.label",
        "looks like a name or a date of birth",
    ),
    "unknown field": (case_data() | {"sceens": []}, "sceens", "is not a known field here"),
    "unknown test": (with_stance(test="handstand"), "shown[0].test", "is no test of this protocol"),
    "side missing": (with_stance(side=None), "shown[0].side", "is missing"),
    "side of two legs": (
        case_data({"test": "walk-4m", "side": "left", "ends_s": 4.0}),
        "shown[0].side",
        "is done with both legs",
    ),
    "no end": (with_stance(ends_s=None), "shown[0].ends_s", "is missing"),
    "no reason": (with_stance(ended=None), "shown[0].ended", "is missing"),
    "unknown reason": (with_stance(ended="bored"), "shown[0].ended", "can end for"),
    "beyond the cap": (with_stance(ends_s=50.0), "shown[0].ends_s", "must be at most 45"),
    "cap without cap": (with_stance(ends_s=45.0), "shown[0].ended", 'must be "cap"'),
    "cap too early": (with_stance(ended="cap"), "shown[0].ended", 'must be "cap"'),
    "cue of no test": (with_stance(cue="feet-back"), "shown[0].cue", "is no cue of"),
    "sign of another test": (
        with_stance(signs=[sighting(sign="feet-forward")]),
        "shown[0].signs[0].sign",
        "is no sign of single-leg-stance",
    ),
    "sign twice": (
        with_stance(signs=[sighting(), sighting()]),
        "shown[0].signs[1].sign",
        "is given twice",
    ),
    "sign after the end": (
        with_stance(signs=[sighting(at_s=[13.0])]),
        "shown[0].signs[0].at_s[0]",
        "after the end of the trial at 12 s",
    ),
    "sign out of order": (
        with_stance(signs=[sighting(at_s=[5.0, 3.0])]),
        "shown[0].signs[0].at_s[1]",
        "before the 5 s above it",
    ),
    "sign that cannot be seen": (
        with_stance(signs=[{"sign": "pelvis-drops", "at_s": [3.0]}]),
        "shown[0].signs[0]",
        "cannot be seen",
    ),
    "sign named by its label": (
        with_stance(signs=[sighting(from_front="A pelvic drop at the right.")]),
        "shown[0].signs[0].from_front",
        "names the sign pelvis-drops",
    ),
    "sign named by its id": (
        with_stance(signs=[sighting(from_front="The pelvis drops at the right.")]),
        "shown[0].signs[0].from_front",
        "names the sign pelvis-drops",
    ),
    "another sign named": (
        with_stance(signs=[sighting(from_front="She looks unsteady.")]),
        "shown[0].signs[0].from_front",
        "names the sign unsteady",
    ),
    "sign named by the patient": (
        with_stance(told=[{"at_s": 2.0, "says": "My arms move."}]),
        "shown[0].told[0].says",
        "names the sign arms-move",
    ),
    "sign named in the story": (
        case_data(story="On stairs her knee moves in."),
        "story",
        "names the sign knee-moves-in",
    ),
    "words after the end": (
        with_stance(told=[{"at_s": 20.0, "says": "Oh."}]),
        "shown[0].told[0].at_s",
        "after the end",
    ),
    "field of another kind": (
        with_stance(holds_s=[3.0]),
        "shown[0].holds_s",
        "does not belong to single-leg-stance",
    ),
    "too few repetitions": (
        case_data({"test": "five-chair-stands", "repetitions_s": [2.0, 4.0]}),
        "shown[0].repetitions_s",
        "has 2 of 5",
    ),
    "too many repetitions": (
        case_data({"test": "step-down", "side": "left", "repetitions_s": [3, 6, 9, 12, 15, 18]}),
        "shown[0].repetitions_s",
        "has 6, and step-down has 5",
    ),
    "too fast": (
        case_data({"test": "five-chair-stands", "repetitions_s": [2.0, 4.0, 4.2, 8.0, 10.0]}),
        "shown[0].repetitions_s[2]",
        "takes at least 0.5 s",
    ),
    "after the window": (
        case_data({"test": "chair-stands-30s", "repetitions_s": [10.0, 20.0, 31.0]}),
        "shown[0].repetitions_s[2]",
        "after the end at 30 s",
    ),
    "a pace too long": (
        case_data({"test": "chair-stands-30s", "pace": {"count": 20, "first_s": 2, "last_s": 2}}),
        "shown[0].pace",
        "after the end at 30 s",
    ),
    "pace and moments": (
        case_data(
            {
                "test": "chair-stands-30s",
                "pace": {"count": 5, "first_s": 2, "last_s": 2},
                "repetitions_s": [3.0],
            }
        ),
        "shown[0].pace",
        "says the same as repetitions_s",
    ),
    "a broken-off count without its reason": (
        case_data({"test": "chair-stands-30s", "repetitions_s": [3.0], "ends_s": 9.0}),
        "shown[0].ended",
        "is missing",
    ),
    "no direction": (
        case_data({"test": "stair-steps", "pace": {"count": 9, "first_s": 1, "last_s": 1}}),
        "shown[0].direction",
        "is missing",
    ),
    "too long a hold": (
        case_data({"test": "straight-leg-raise-hold", "side": "left", "holds_s": [12.0] * 10}),
        "shown[0].holds_s[0]",
        "at most 10",
    ),
    "no number": (
        case_data({"test": "knee-extension", "side": "left"}),
        "shown[0].passive_deg",
        "needs a number to be read",
    ),
    "a number that cannot be": (
        case_data({"test": "knee-extension", "side": "left", "passive_deg": 90.0}),
        "shown[0].passive_deg",
        "must be -20 to 60",
    ),
    "question left out": (case_data(said=said()[:-1]), "said", 'the question "goals"'),
    "question twice": (case_data(said=[*said(), said()[0]]), "said[19].question", "twice"),
    "question unknown": (
        case_data(said=[*said(), {"question": "shoe", "says": "42."}]),
        "said[19].question",
        "is no question",
    ),
    "question that is not asked": (
        case_data(said=[*said(), {"question": "precautions", "says": "None."}]),
        "said[19].question",
        "is not asked after the other answers",
    ),
    "safety without truth": (
        case_data(said=[{"question": "clot", "says": "No."}, *said()[3:]]),
        "said[0].truth",
        "must be true or false",
    ),
    "truth of another kind": (
        case_data(said=said(side="middle")),
        "said[17].truth",
        "must be one of left, right, both",
    ),
    "truth of the patient": (
        case_data(said=[*said(), {"question": "age", "says": "Forty.", "truth": 40}]),
        "said[19].truth",
        "is under [patient] already",
    ),
    "surgery that cannot be": (
        case_data(said=said(recent_surgery_weeks=9999)),
        "said[15].truth",
        "cannot be",
    ),
    "yes without referral": (
        case_data(said=said(clot=True)),
        "truth.outcome",
        "belong together",
    ),
    "referral without yes": (with_truth(outcome="refer-first"), "truth.outcome", "belong together"),
    "no load without its outcome": (
        case_data(said=[*said(weight_bearing="touch"), {"question": "precautions", "says": "."}]),
        "truth.outcome",
        "belong together",
    ),
    "driver missing": (with_truth(outcome="likely"), "truth.drivers", "must name 1"),
    "driver too many": (
        with_truth(drivers=[{"driver": "balance"}]),
        "truth.drivers",
        "must name 0",
    ),
    "driver unknown": (
        with_truth(outcome="likely", drivers=[{"driver": "bad-luck"}]),
        "truth.drivers[0].driver",
        "is no driver",
    ),
    "driver without side": (
        with_truth(outcome="likely", drivers=[{"driver": "hip-control"}]),
        "truth.drivers[0].side",
        "needs left, right or both",
    ),
    "driver with side": (
        with_truth(outcome="likely", drivers=[{"driver": "balance", "side": "left"}]),
        "truth.drivers[0].side",
        "belongs to no side",
    ),
    "next test unknown": (
        with_truth(next_tests=[{"test": "handstand"}]),
        "truth.next_tests[0].test",
        "is no test",
    ),
    "next test without side": (
        with_truth(next_tests=[{"test": "step-down"}]),
        "truth.next_tests[0].side",
        "needs its side",
    ),
    "next cue unknown": (
        with_truth(next_tests=[{"test": "step-down", "side": "left", "cue": "jump"}]),
        "truth.next_tests[0].cue",
        "is no cue",
    ),
    "exercise unknown": (with_truth(start=["yoga"]), "truth.start[0]", "is no exercise"),
    "left out unknown": (with_truth(leave_out=["yoga"]), "truth.leave_out[0]", "is no thing"),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_named_with_its_line_and_field(mistake: str, tmp_path: Path) -> None:
    data, field, reason = MISTAKES[mistake]
    found = refusals(data, tmp_path)
    matching = [one for one in found if f": {field}: " in one and reason in one]
    assert matching, found
    assert matching[0][1 : matching[0].index(": ")].isdigit(), "has no line"


def test_a_case_must_be_named_as_its_file(tmp_path: Path) -> None:
    path = write_case(case_data(), tmp_path)
    moved = path.rename(tmp_path / "other.toml")
    with pytest.raises(FileRefusedError, match=r"the file is named other\.toml"):
        load_case(moved, PROTOCOL)


def test_a_newer_case_is_refused_as_such(tmp_path: Path) -> None:
    found = refusals(case_data(practice_case=2), tmp_path)
    assert len(found) == 1
    assert "comes from a newer version" in found[0]


def test_a_folder_gives_its_cases_and_says_what_is_wrong_with_the_others(tmp_path: Path) -> None:
    write_case(case_data(), tmp_path)
    write_case(case_data(id="a-broken-one", story=""), tmp_path)
    (tmp_path / ".hidden.toml").write_text("x = 1", encoding="utf-8")
    found = load_practice([tmp_path], PROTOCOL)
    assert [one.title for one in found.patients] == [case_data()["title"]]
    (problem,) = found.problems
    assert "story" in problem
    assert load_practice([tmp_path / "nowhere"], PROTOCOL).patients == ()


AS_THE_PROGRAM = {
    "outcome": "possible",
    "drivers": [{"driver": "hip-control", "side": "left"}],
    "reasons": ["The pelvis drops."],
}
"""The program's answer to the small case."""


def test_check_knows_a_case_and_a_mistake_in_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = write_case(case_data(truth=AS_THE_PROGRAM), tmp_path)
    assert main(["check", str(good)]) == 0
    told = capsys.readouterr().err
    assert "practice case, in order\n" in told
    assert "the program answers: Possible driver" in told
    assert "offered and not shown: knee-extension, right" in told
    bad = write_case(with_stance(cue="feet-back") | {"id": "bad"}, tmp_path)
    assert main(["check", str(bad)]) == 3
    assert "shown[0].cue" in capsys.readouterr().err


def test_the_protocol_is_read_only_where_there_is_a_case(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = []

    def load_protocol(*_: object) -> Any:
        read.append(1)
        return PROTOCOL

    monkeypatch.setattr(check, "load_protocol", load_protocol)
    (tmp_path / "prefs.toml").write_text("bell = true\n", encoding="utf-8")
    (tmp_path / "other.toml").write_text("ring = true\n", encoding="utf-8")
    case = write_case(case_data(truth=AS_THE_PROGRAM), tmp_path)
    with pytest.raises(FileRefusedError):
        check_paths([tmp_path / "prefs.toml", tmp_path / "other.toml"], [])
    assert not read
    (checked,) = check_paths([case], [])
    assert checked.kind == "practice case"
    assert read


def test_cases_below_the_demo_sessions_are_no_sessions(tmp_path: Path) -> None:
    write_case(case_data(), tmp_path / "practice")
    assert SessionStore(tmp_path).list() == ()
