"""Every trial with all that was noted of it, and what addenda made of it.

Trials are numbered over the whole session, as an addendum counts them.
"""

from __future__ import annotations

from screen_tui.engine.measures import HANDS_USED
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report import words
from screen_tui.report.document import Line, Section
from screen_tui.session.model import Addendum, Session, Trial
from screen_tui.timing.kinds import reason_words

JUDGED_AMENDED = (
    "The session was finished when this was added. It is judged as amended; the trials are listed "
    "as they were saved."
)

TRUST = {
    "stall": "the computer stopped for a moment",
    "suspend": "the computer slept, or its clock was set",
    "lost-focus": "the window did not have the keys for a moment",
    "implausible-split": "a repetition was faster than seems possible",
}


def trials_section(protocol: ScreenProtocol, session: Session) -> Section:
    """The trials by test and leg, in the order they were done."""
    by_place: dict[str, list[int]] = {}
    for at, trial in enumerate(session.trials):
        spec, side = protocol.known_test(trial.test), words.leg_of(protocol, trial)
        missing = ", side not recorded" if spec and spec.sided and side is None else ""
        by_place.setdefault(words.test_on(protocol, trial.test, side) + missing, []).append(at)
    amended = session.as_amended.trials
    amended_by: dict[int, list[str]] = {}
    for place, one in enumerate(session.addenda, start=1):
        if one.changes_a_trial and one.trial is not None:
            amended_by.setdefault(one.trial - 1, []).append(str(place))
    lines: list[Line] = []
    for name, places in by_place.items():
        lines.append(Line(name, role="strong"))
        for at in places:
            trial, numbers = session.trials[at], amended_by.get(at)
            spec = protocol.known_test(trial.test)
            text = [_trial_words(protocol, spec, trial)]
            if numbers:
                now = "void" if amended[at].void else words.trial_value(spec, amended[at])
                which = f"addend{'um' if len(numbers) == 1 else 'a'} {', '.join(numbers)}"
                text.append(f"as amended: {now} ({which})")
            lines.append(Line(words.joined(text), _trial_label(at + 1, trial), level=1))
    return Section(tuple(lines) or (Line("None."),), "Trials")


def _trial_label(place: int, trial: Trial) -> str:
    steps = "" if trial.steps is None else f"{trial.steps} step{'' if trial.steps == 1 else 's'}"
    parts = [
        f"Trial {place}",
        trial.direction or "",
        steps,
        f"cued ({words.spaced(trial.cue)})" if trial.cue else "",
        f"void ({trial.void})" if trial.void else "",
    ]
    return ", ".join(part for part in parts if part)


def _trial_words(protocol: ScreenProtocol, spec: TestSpec | None, trial: Trial) -> str:
    without_value = "no value recorded" if spec is None else spec.timer.words.without_value
    # A hold ends for a reason; a count or a flight of stairs that has none ended as planned.
    no_reason = "ended: not recorded" if spec and spec.timer.stop_is_an_end else ""
    return words.joined(
        [
            words.trial_value(spec, trial) or without_value,
            words.correction_words(trial),
            f"ended: {reason_words(trial.ended)}" if trial.ended else no_reason,
            "" if trial.pain is None else f"pain: {trial.pain} of 10",
            *_signs_and_hands(protocol, spec, trial),
            words.set_up_words(trial),
            *(f"timing: {TRUST.get(flag, words.spaced(flag))}" for flag in trial.trust),
            f"comment: {trial.note}" if trial.note else "",
        ]
    )


def _signs_and_hands(
    protocol: ScreenProtocol, spec: TestSpec | None, trial: Trial
) -> tuple[str, str]:
    """What was marked; where nothing was, that is said of what the test looks for."""
    looked_for = set(spec.signs) if spec else set()
    seen = ", ".join(
        words.marked_words(protocol, trial, sign) for sign in trial.signs if sign != HANDS_USED
    )
    signs = seen or ("none marked" if looked_for - {HANDS_USED} else "")
    hands = "use not marked" if HANDS_USED in looked_for else ""
    if HANDS_USED in trial.signs:
        hands = "used"
    return f"signs: {signs}" if signs else "", f"hands: {hands}" if hands else ""


def addenda_lines(protocol: ScreenProtocol, session: Session) -> list[Line]:
    """Each addendum with its time, its reason and what it changed."""
    lines: list[Line] = []
    if any(one.changes_a_trial for one in session.addenda):
        lines.append(Line(JUDGED_AMENDED))
    trials = list(session.trials)
    for place, addendum in enumerate(session.addenda, start=1):
        lines.append(Line(words.moment(addendum.written), f"Addendum {place}, written"))
        lines.append(Line(addendum.reason, "Reason", level=1))
        if addendum.trial is not None:
            at = addendum.trial - 1
            amended = addendum.applied_to(trials[at])
            text = _amendment(protocol, addendum, trials[at], amended)
            if not session.holds(place):
                text += f"; addendum {session.addendum_of(addendum.trial)} replaces it"
            lines.append(Line(text, f"Trial {addendum.trial}", level=1))
            trials[at] = amended
        if addendum.text:
            lines.append(Line(addendum.text, "Added", level=1))
    return lines


def _amendment(protocol: ScreenProtocol, addendum: Addendum, before: Trial, after: Trial) -> str:
    spec = protocol.known_test(before.test)
    was = words.trial_value(spec, before) or "no value recorded"
    if addendum.struck_out:
        return words.joined([was, "void"])
    if addendum.value is None:
        return "a remark; nothing of it is changed"
    return f"{was} before, {words.trial_value(spec, after)} as corrected"
