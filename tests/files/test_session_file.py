import tomllib
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from support.hostile import possible_letters
from support.thorough import examples

from screen_tui.errors import (
    FileRefusedError,
)
from screen_tui.files.toml import TomlDocument, parse_toml, validate
from screen_tui.files.toml_write import dump_toml
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.file import check_against, load_session, session_in, session_text
from screen_tui.session.model import (
    MOST_TRIALS,
    Cleared,
    Client,
    Intake,
    Session,
    Skip,
    Trial,
    what_it_tells,
)

AS_WRITTEN = """\
format = 3
id = "2026-03-02-0915-7f3a"
protocol = "small"
protocol_digest = "sha256:00"
started = 2026-03-02T09:15:00+00:00
finished = 2026-03-02T09:40:01.250000+00:00
synthetic = true

[client]
label = "K-014"
age = 67
sex = "female"
height_cm = 164.0

[intake]
complaints = [
    "pain",
    "giving-way",
]
side = "left"
goals = [
    "stairs",
]
weight_bearing = "full"
one_leg_confirmed = false
safety_asked = [
    "clot",
    "locked-knee",
]

[[trials]]
test = "one-leg"
side = "left"
value = 6.2
signs = [
    "pelvis-drops",
]
watched = false
pain = 3

[[trials]]
test = "one-leg"
side = "left"
value = 9.4
watched = false
cue = "pelvis-level"

[[trials]]
test = "stairs"
value = 8.1
splits = [
    0.8,
    1.6,
]
watched = false
direction = "up"
steps = 10

[[skipped]]
test = "extension"
side = "right"
reason = "not asked for"
"""


def test_a_session_is_written_in_the_agreed_layout(session: Session) -> None:
    assert session_text(session) == AS_WRITTEN


def test_a_session_file_typed_by_hand_may_leave_out_what_is_empty(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(
        'format = 1\nid = "a"\nprotocol = "small"\nstarted = 2026-03-02T09:15:00+01:00\n'
        '[client]\nlabel = "K-014"\nage = 67\n'
        '[[trials]]\ntest = "one-leg"\nside = "left"\nvalue = 6\nsplits = []\ncue = ""\n',
        encoding="utf-8",
    )
    loaded = load_session(path)
    assert loaded.intake == Intake()
    assert loaded.trials == (Trial(test="one-leg", side="left", value=6.0),)
    assert loaded.started == datetime(2026, 3, 2, 8, 15, tzinfo=UTC)


PLAIN_TEXT = st.text(possible_letters(), max_size=30)
IDS = st.from_regex(r"[a-z0-9]{1,6}(-[a-z0-9]{1,6}){0,2}", fullmatch=True)
MOMENTS = st.datetimes(
    datetime(1970, 1, 2),  # noqa: DTZ001
    timezones=st.timedeltas(timedelta(hours=-14), timedelta(hours=14)).map(timezone),
)
SIDES = st.none() | st.sampled_from(["left", "right"])


def numbers(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most, allow_nan=False)


def _with_times(trial: Trial, times: list[float], legs: list[str]) -> Trial:
    """The same trial with its first signs tagged while the clock ran, again, and on some leg."""
    timed = dict(zip(trial.signs, times, strict=False))
    on_legs = dict(zip(trial.signs, legs, strict=False))
    counted = {sign: 2 + nth for nth, sign in enumerate(timed)}
    more = {"sign_times": timed, "sign_legs": on_legs, "sign_counts": counted}
    return Trial.model_validate({**trial.model_dump(), **more})


UNTIMED = st.builds(
    Trial,
    test=IDS,
    side=SIDES,
    value=st.none() | numbers(-90, 3600),
    raw_value=st.none() | numbers(-90, 3600),
    splits=st.lists(numbers(0, 3600), max_size=6).map(lambda splits: tuple(sorted(splits))),
    signs=st.lists(IDS, max_size=3).map(tuple),
    ended=PLAIN_TEXT,
    pain=st.none() | st.integers(0, 10),
    cue=st.just("") | IDS,
    void=PLAIN_TEXT,
    direction=st.sampled_from([None, "up", "down"]),
    steps=st.none() | st.integers(1, 60),
    passive_deg=st.none() | numbers(-30, 120),
    active_deg=st.none() | numbers(-30, 120),
    trust=st.lists(IDS, max_size=2).map(tuple),
    watched=st.booleans(),
    note=PLAIN_TEXT,
    seat_cm=st.none() | numbers(20, 80),
    aid=st.just("") | IDS,
    corrected_from=st.none() | numbers(-90, 3600),
    correction=PLAIN_TEXT.filter(bool),
    recorded=st.none() | MOMENTS,
)
TRIALS = st.builds(
    _with_times,
    UNTIMED,
    st.lists(numbers(0, 3600), max_size=3),
    st.lists(st.sampled_from(["left", "right", "both"]), max_size=3),
)
SESSIONS = st.builds(
    Session,
    id=st.from_regex(r"[0-9a-z][0-9a-z-]{0,40}", fullmatch=True),
    protocol=IDS,
    protocol_digest=PLAIN_TEXT,
    started=MOMENTS,
    finished=st.none() | MOMENTS,
    stopped=PLAIN_TEXT,
    synthetic=st.booleans(),
    client=st.builds(
        Client,
        label=PLAIN_TEXT.filter(lambda text: text and not what_it_tells(text)),
        age=st.integers(5, 110),
        sex=st.sampled_from(["female", "male", "unspecified"]),
        height_cm=st.none() | numbers(80, 230),
        mass_kg=st.none() | numbers(20, 300),
    ),
    intake=st.builds(
        Intake,
        complaints=st.lists(st.sampled_from(["pain", "weakness"]), max_size=2).map(tuple),
        side=st.sampled_from(["left", "right", "both"]),
        goals=st.lists(st.sampled_from(["walking", "stairs"]), max_size=2).map(tuple),
        weight_bearing=st.sampled_from(["full", "none"]),
        one_leg_confirmed=st.booleans(),
        recent_surgery_weeks=st.none() | st.integers(0, 520),
        cautions=st.lists(IDS.map("raised-{}".format), max_size=2).map(tuple),
        cleared=st.lists(
            st.builds(
                Cleared,
                caution=IDS.map("cleared-{}".format),
                by=PLAIN_TEXT.filter(bool),
                when=PLAIN_TEXT.filter(bool),
                words=PLAIN_TEXT,
            ),
            max_size=2,
        ).map(tuple),
        surgery=st.sampled_from([None, "replacement", "extensor"]),
        history=st.dictionaries(IDS, st.lists(IDS, min_size=1, max_size=3).map(tuple), max_size=3),
        pain_now=st.none() | st.integers(0, 10),
        alone_at_home=st.sampled_from([None, True, False]),
        note=PLAIN_TEXT,
    ),
    trials=st.lists(TRIALS, max_size=4).map(tuple),
    skipped=st.lists(
        st.builds(Skip, test=IDS, side=SIDES, reason=PLAIN_TEXT.filter(bool)), max_size=2
    ).map(tuple),
)


def as_document(text: str) -> TomlDocument:
    return TomlDocument(Path("a.toml"), text, tomllib.loads(text), "")


@settings(max_examples=examples(300))
@given(SESSIONS)
def test_a_session_written_and_read_is_the_same_session(session: Session) -> None:
    document = as_document(session_text(session))
    assert validate(document, Session) == session
    assert session_in(document) == session


@pytest.mark.parametrize(
    ("old", "new", "line", "field", "words"),
    [
        ("format = 3\n", "", None, "format", "not a session file"),
        ("value = 6.2", "value = 6200.0", 34, "trials[0].value", "at most 3600"),
        ("value = 6.2", "valeu = 6.2", 34, "trials[0].valeu", "spelling"),
        ("0.8,\n    1.6", "1.8,\n    1.6", 48, "trials[2]", "not in order of time"),
        (
            'label = "K-014"',
            'label = "K\\u001b[2J"',
            10,
            "client.label",
            "control character U+001B",
        ),
        (
            'label = "K-014"',
            'label = "Müller 1950"',
            10,
            "client.label",
            "looks like a name or a date of birth; use a short code such as K-014",
        ),
        (
            'label = "K-014"',
            'label = "Anna Bo\\u0308hm"',
            10,
            "client.label",
            "looks like a full name",
        ),
    ],
)
def test_a_broken_or_newer_session_is_refused_with_its_place_and_left_untouched(
    tmp_path: Path, old: str, new: str, line: int | None, field: str, words: str
) -> None:
    path = tmp_path / "a.toml"
    path.write_text(AS_WRITTEN.replace(old, new, 1), encoding="utf-8")
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    with pytest.raises(FileRefusedError) as caught:
        load_session(path)
    ((problem),) = caught.value.problems
    assert (problem.path, problem.line, problem.field) == (path, line, field)
    assert words in problem.reason
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_a_session_that_fits_its_protocol_passes(protocol, session: Session) -> None:
    loaded = load_protocol([protocol.path], "small")
    check_against(session, loaded, as_document(session_text(session)))


def test_what_a_protocol_does_not_know_is_refused_with_its_place(
    protocol, session: Session
) -> None:
    loaded = load_protocol([protocol.path], "small")
    odd = session.model_copy(
        update={
            "protocol": "other",
            "intake": Intake(cautions=("clot", "clog")),
            "trials": (
                Trial(test="one-leg", side="left", signs=("unsteady", "waves")),
                Trial(test="one-leg", side="left", cue="heel-first"),
                Trial(test="one-leg"),
                Trial(test="hop", side="left", cue="any"),
                Trial(test="stairs", side="left"),
            ),
            "skipped": (Skip(test="jump", reason="no"),),
        }
    )
    document = as_document(session_text(odd))
    with pytest.raises(FileRefusedError) as caught:
        check_against(odd, loaded, document)
    problems = caught.value.problems
    assert [problem.field for problem in problems] == [
        "protocol",
        "intake.cautions[1]",
        "trials[0].signs[1]",
        "trials[1].cue",
        "trials[2].side",
        "trials[3].test",
        "trials[4].direction",
        "skipped[0].test",
    ]
    lines = document.text.splitlines()
    told = [lines[problem.line - 1].strip() for problem in problems if problem.line]
    assert told == [
        'protocol = "other"',
        '"clog",',
        '"waves",',
        'cue = "heel-first"',
        "[[trials]]",
        'test = "hop"',
        "[[trials]]",
        'test = "jump"',
    ]


def test_the_time_of_a_sign_stands_under_its_trial() -> None:
    trial = {
        "test": "stance",
        "signs": ("pelvis-drops",),
        "sign_times": {"pelvis-drops": 3.2},
    }
    text = dump_toml({"trials": [trial, {"test": "rises"}]})
    assert text.splitlines()[:8] == [
        "[[trials]]",
        'test = "stance"',
        "signs = [",
        '    "pelvis-drops",',
        "]",
        "",
        "[trials.sign_times]",
        "pelvis-drops = 3.2",
    ]
    assert tomllib.loads(text)["trials"][1] == {"test": "rises"}


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"sign_times": {"pelvis-drops": 3.2}}, "which is not among the signs"),
        ({"sign_counts": {"pelvis-drops": 2}}, "count for pelvis-drops, which is not among"),
        ({"signs": ("a",), "sign_counts": {"a": 1}}, "greater than or equal to 2"),
        ({"signs": ("a",), "sign_counts": {"a": 100}}, "less than or equal to 99"),
        ({"corrected_from": 8.4}, "needs its reason"),
    ],
)
def test_what_was_added_to_a_trial_must_fit_the_rest(wrong: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        Trial(test="stance", **wrong)


def many(trials: int) -> TomlDocument:
    text = AS_WRITTEN.split("[[trials]]")[0] + '[[trials]]\ntest = "one-leg"\n\n' * trials
    return parse_toml(text.encode(), Path("many.toml"))


def test_more_trials_than_a_session_holds_are_refused_with_the_first_of_them() -> None:
    assert len(session_in(many(MOST_TRIALS)).trials) == MOST_TRIALS
    document = many(MOST_TRIALS + 1)
    with pytest.raises(FileRefusedError) as caught:
        session_in(document)
    (problem,) = caught.value.problems
    lines = document.text.splitlines()
    assert problem.field == f"trials[{MOST_TRIALS}]"
    assert problem.line == len(lines) - lines[::-1].index("[[trials]]")
    assert "at most 2,000 trials" in problem.reason


@pytest.mark.parametrize(
    ("ended", "off"),
    [
        ("pain", True),
        ("fatigue", True),
        ("breathless", True),
        ("fear", True),
        ("unable", True),
        ("unsafe", True),
        ("cap", False),
        ("foot-down", False),
        ("asked-to-stop", False),
        ("", False),
    ],
)
def test_a_trial_is_broken_off_by_what_the_person_could_not_go_on_with(
    ended: str, off: bool
) -> None:
    assert Trial(test="one-leg", ended=ended).broken_off is off


def test_a_leg_is_noted_only_of_a_sign_that_was_seen() -> None:
    seen = Trial(test="rise", signs=("pelvis-drops",), sign_legs={"pelvis-drops": "left"})
    assert seen.sign_legs == {"pelvis-drops": "left"}
    with pytest.raises(ValidationError, match="leg for pelvis-drops, which is not among"):
        Trial(test="rise", sign_legs={"pelvis-drops": "left"})


def test_what_is_cleared_is_no_caution() -> None:
    cleared = Cleared(caution="clot", by="the surgeon", when="last week")
    Intake(cleared=(cleared,), cautions=("locked-knee",))
    with pytest.raises(ValidationError, match="clot is among the cautions and cleared"):
        Intake(cleared=(cleared,), cautions=("clot",))
