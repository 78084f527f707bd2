"""O: every trial, what was scored from it, and the published figures it is held against."""

from __future__ import annotations

from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.results import Assessment, Result
from screen_tui.fields import Side
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.ascii import Sheet
from screen_tui.report.citations import Citations
from screen_tui.report.cue_words import cue_effect_words, cue_label
from screen_tui.report.note_addenda import amended_words, amending
from screen_tui.report.note_not_done import write_not_done
from screen_tui.report.result_facts import compared_facts, value_fact
from screen_tui.report.words import (
    correction_words,
    ended_words,
    joined,
    leg_of,
    set_up_words,
    sign_time_words,
    sign_words,
    spaced,
    test_name,
    trial_value,
    with_side,
)
from screen_tui.session.model import Session, Trial

TRUST = {
    "stall": "the computer stood still for a moment",
    "suspend": "the computer slept, or its clock was set",
    "lost-focus": "the window did not have the keys for a moment",
    "implausible-split": "a repetition was faster than seems possible",
}

_Place = tuple[str, Side | None]


def write_measured(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write O: trials, scores, comparisons, and what was not done and why."""
    sheet.heading("O: Objective")
    places = _places(protocol, session, assessment)
    by_place: dict[_Place, list[int]] = {}
    for at, trial in enumerate(session.trials):
        by_place.setdefault(_place(protocol, trial), []).append(at)
    amended, amended_by = session.as_amended.trials, amending(session)
    if not places:
        sheet.text("No test was done.")
    for index, (test_id, side) in enumerate(places):
        if index:
            sheet.blank()
        spec = protocol.known_test(test_id)
        missing = ", side not recorded" if spec and spec.sided and side is None else ""
        sheet.text(with_side(test_name(protocol, test_id), side) + missing)
        for number, at in enumerate(by_place.get((test_id, side), ()), start=1):
            trial = session.trials[at]
            told = [
                _trial_words(protocol, spec, trial),
                amended_words(spec, amended[at], amended_by.get(at, ())),
            ]
            sheet.item(_trial_label(number, trial), joined(told), indent=2)
        for result in assessment.results:
            if (result.test, result.side) == (test_id, side):
                _write_result(sheet, spec, result, cited)
        for effect in assessment.cue_effects:
            if (effect.test, effect.side) == (test_id, side):
                sheet.item(cue_label(effect), cue_effect_words(protocol, effect), indent=2)
        if spec is not None and spec.not_judged_because:
            sheet.item("No line for this test", spec.not_judged_because, indent=2)
    write_not_done(sheet, protocol, session, assessment)


def _places(protocol: Protocol, session: Session, assessment: Assessment) -> list[_Place]:
    """Each test and side that has a trial or a result, in the order of the protocol."""
    found: dict[_Place, None] = {}
    for trial in session.trials:
        found[_place(protocol, trial)] = None
    for result in assessment.results:
        if result.value is not None:
            found[result.test, result.side] = None
    order = {test.id: index for index, test in enumerate(protocol.tests)}
    sides = ("left", "right", None)
    return sorted(found, key=lambda place: (order.get(place[0], len(order)), sides.index(place[1])))


def _place(protocol: Protocol, trial: Trial) -> _Place:
    return trial.test, leg_of(protocol, trial)


def _trial_label(place: int, trial: Trial) -> str:
    parts = [f"Trial {place}"]
    if trial.direction:
        parts.append(trial.direction)
    if trial.steps is not None:
        parts.append(f"{trial.steps} step{'' if trial.steps == 1 else 's'}")
    if trial.cue:
        parts.append(f"cued ({spaced(trial.cue)})")
    if trial.void:
        parts.append(f"struck out ({trial.void})")
    return ", ".join(parts)


def _trial_words(protocol: Protocol, spec: TestSpec | None, trial: Trial) -> str:
    return joined(
        [
            trial_value(spec, trial) or _without_number(spec),
            correction_words(trial),
            _ending(spec, trial),
            "pain: not recorded" if trial.pain is None else f"pain: {trial.pain} of 10",
            _signs(protocol, spec, trial),
            _hands(spec, trial),
            set_up_words(trial),
            *(f"timing: {TRUST.get(flag, spaced(flag))}" for flag in trial.trust),
            f"note: {trial.note}" if trial.note else "",
        ]
    )


def _without_number(spec: TestSpec | None) -> str:
    return "no value recorded" if spec is None else spec.timer.without_value


def _ending(spec: TestSpec | None, trial: Trial) -> str:
    if trial.ended:
        return f"ended: {ended_words(trial.ended)}"
    # A hold ends for a reason; a count or a flight of stairs that has none ended as planned.
    reason = spec is not None and spec.timer.ends_for_a_reason
    return "ended: not recorded" if reason else ""


def _signs(protocol: Protocol, spec: TestSpec | None, trial: Trial) -> str:
    seen = [
        sign_words(protocol, sign) + sign_time_words(trial, sign)
        for sign in trial.signs
        if sign != HANDS_USED
    ]
    if seen:
        return "signs: " + ", ".join(seen)
    looked_for = spec is not None and any(sign != HANDS_USED for sign in spec.signs)
    return "signs: none marked" if looked_for else ""


def _hands(spec: TestSpec | None, trial: Trial) -> str:
    if HANDS_USED in trial.signs:
        return "hands: used"
    looked_for = spec is not None and HANDS_USED in spec.signs
    return "hands: use not marked" if looked_for else ""


def _write_result(sheet: Sheet, spec: TestSpec | None, result: Result, cited: Citations) -> None:
    value = value_fact(spec, result)
    sheet.item(value.label, cited.told(value), indent=2)
    for fact in compared_facts(spec, result):
        sheet.item(fact.label, cited.told(fact), indent=4)
