"""The chain from trial to verdict can be followed by hand."""

from __future__ import annotations

from support.small_protocol import line, protocol, rule, session, test_spec

from screen_tui.engine import assess
from screen_tui.report.explain import write_explanation

STANCE = test_spec(
    "stance",
    lines=[line("value", "at least", 10.0)],
    evidence=[
        rule("hip-control", "for", "moderate", "pelvis", signs_any=["pelvis-drops"]),
        rule(
            "hip-control", "for", "slight", "pelvis", measure="value", standing="short of the line"
        ),
    ],
)  # fmt: skip
STEP = test_spec(
    "step", evidence=[rule("hip-control", "for", "moderate", "pelvis", signs_any=["pelvis-drops"])]
)
WHOLE = protocol(STANCE, STEP)


def explained(**more: object) -> str:
    made = session(
        {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"]},
        {"test": "stance", "side": "left", "value": 40.0, "void": "held the rail"},
        {"test": "step", "side": "left", "signs": ["pelvis-drops"]},
        **more,
    )
    return " ".join(write_explanation(WHOLE, made, assess(WHOLE, made)).split())


def test_every_trial_every_line_and_every_weight_is_there() -> None:
    text = explained()
    assert "1. stance, left: 6.2 s" in text
    assert "2. stance, left: struck out (held the rail): no effect; 40.0 s" in text
    assert "stance, left, value: 6.2 s from 6.2; cut-off at least 10.0 s (judgement); worse" in text
    # Pelvis 7 in full; the step shows it again, half; the short hold is from the same test.
    assert "+7.0: stance, left: pelvis for hip-control [moderate +7.0; shows pelvis" in text
    assert "+3.5: step, left: pelvis for hip-control [moderate +7.0" in text
    assert "+0.0: stance, left: pelvis for hip-control [slight +3.0" in text
    assert "= +10.5: likely; with any one finding taken away at least +7.0" in text
    assert "hip control, left leads with +10.5, from 2 test(s)." in text
    assert "Likely driver: hip control (left)." in text


def test_a_safety_answer_ends_the_chain() -> None:
    text = explained(intake={"cautions": ["clot"]})
    first = "Possible clot - today: a doctor sees this person today"
    assert f"Not weighed: a safety answer comes first ({first})." in text
    assert "outranks every weight" in text


def test_it_is_plain_text_of_72_columns() -> None:
    made = session()
    text = write_explanation(WHOLE, made, assess(WHOLE, made))
    assert max(len(row) for row in text.split("\n")) <= 72
    assert text.isascii()
    assert "Nothing to grade." in text
