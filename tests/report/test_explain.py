"""The chain from trial to verdict can be followed by hand."""

from __future__ import annotations

from support.small_protocol import finding, graded, level, line, protocol, session, test_spec

from screen_tui.engine import assess
from screen_tui.report.explain import write_explanation
from screen_tui.report.layout import PAPER

PELVIS = finding("pelvis-drops", none=10, hip=60)
STANCE = test_spec(
    "stance",
    lines=[line("value", "at least", 10.0)],
    findings=[PELVIS],
    graded=[graded(level("short", 10.0, none=10, hip=40))],
)
STEP = test_spec("step", findings=[PELVIS])
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
    assert "stance, left Trial 1: 6.2 s; ended: not recorded; signs: pelvis drops" in text
    assert "Trial 2, void (held the rail): 40.0 s" in text
    assert "stance 6.2 s, worse at least 10.0 s" in text
    assert "Cut-off: at least 10.0 s (percentile)" in text
    # The pelvis six times as likely, the same again in the step for six tenths, 6 ** 0.6, and
    # the short hold four times: from 20 to 97.2 of 100.
    assert "hip control, left: 20 before, 95 after: likely" in text
    assert "x 6.00: stance, left: pelvis drops (judgement)" in text
    assert "x 2.93 [0.60]: step, left: pelvis drops (judgement)" in text
    assert "x 4.00: stance, left: value 6.2 s: short (judgement)" in text
    assert "After each test: stance 86, step 95 Without each test: stance 42, step 86" in text
    assert "foot ankle control, left: 20 before, 20 after: not tested" in text
    assert (
        "WHAT MOVED IT, IN THE ORDER OF TESTING stance: hip control, left from not supported to "
        "likely" in text
    )
    assert "Likely asks for 75, 30 without any one test" in text
    assert "LIKELY hip control, left" in text


def test_a_safety_answer_ends_the_chain() -> None:
    text = explained(intake={"cautions": ["clot"]})
    first = "Possible clot - today: a doctor sees this person"
    assert f"Not ranked: a safety answer comes first ({first})." in text
    assert "What is unsafe outranks every chance: refer first." in text


def test_it_is_plain_text_of_the_width_of_a_paper() -> None:
    made = session()
    text = write_explanation(WHOLE, made, assess(WHOLE, made))
    assert max(len(row) for row in text.split("\n")) <= PAPER
    assert text.isascii()
    assert "Nothing was measured." in text
