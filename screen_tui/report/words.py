"""Ids, numbers and answers in the words a therapist would write."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Literal

from screen_tui.engine.results import (
    CautionRaised,
    CueEffect,
    Finding,
    LineUsed,
    NextTest,
    Outcome,
    PrecautionRaised,
    Result,
    Start,
)
from screen_tui.engine.safety import URGENCY
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Source
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Intake, Session, Trial
from screen_tui.timing.spec import CAP

OUTCOMES: dict[Outcome, str] = {
    "likely": "one driver likely",
    "mixed": "mixed: more than one driver fits",
    "possible": "one driver possible",
    "undetermined": "undetermined: the findings do not settle it",
    "nothing-found": "nothing found by these tests",
    "refer-first": "Refer first",
    "unloaded-only": "unloaded tests only",
}

FITS_BEST = "The movement finding that fits best; no proof of where the pain comes from."
"""What a driver is, and what it is not."""

NOT_A_DIAGNOSIS = "Not a diagnosis. Rule-based; the licensed clinician and local policy decide."

UNVERIFIED = "unverified"
"""What is said of a source whose figures nobody looked up."""

WEIGHT_BEARING = {
    "full": "full",
    "as-tolerated": "as tolerated",
    "partial": "partial",
    "touch": "touch only",
    "none": "none",
}

INVENTED = "Invented demonstration data: this is not a real person."


def spaced(identifier: str) -> str:
    """Read an id aloud: hyphens as blanks."""
    return identifier.replace("-", " ")


def short_on(protocol: ScreenProtocol, test_id: str, side: Side | None) -> str:
    """The short name of a test with its side; the id where the protocol has no such test."""
    spec = protocol.known_test(test_id)
    return with_side(spec.short_name if spec else spaced(test_id), side)


def authors_of(source: Source) -> str:
    """Who wrote a source; empty where the page it was read on does not name them."""
    return "" if source.authors.startswith("Authors not ") else source.authors


def short_source(protocol: ScreenProtocol, source_id: str) -> str:
    """A source in a few words: first author and year, or what stands in for a source."""
    source = protocol.known_source(source_id)
    if source is None:
        return spaced(source_id)
    if source.provenance == "from memory":
        return UNVERIFIED
    if not source.authors or source.year is None:
        return source.provenance
    if not authors_of(source):
        return f"{source.journal.partition(',')[0]} {source.year}"
    first = re.sub(r" et al\.?$", "", source.authors.replace(";", ",").split(",")[0].strip())
    *names, last = first.split()
    initials = bool(names) and last.replace(".", "").isupper() and len(last) <= 4
    name = " ".join(names) if initials else first
    return f"{name} {source.year}"


def driver_name(protocol: ScreenProtocol, driver_id: str) -> str:
    """The name of a driver, or its id where the protocol has no such driver."""
    driver = protocol.known_driver(driver_id)
    return driver.name if driver else spaced(driver_id)


def sign_words(protocol: ScreenProtocol, sign_id: str) -> str:
    """What was seen, in words."""
    sign = protocol.known_sign(sign_id)
    return (sign.label if sign else spaced(sign_id)).lower()


def standing_words(result: Result) -> str:
    """The result against its cut-off, and on which side of it when it is near."""
    if result.standing == "not judged":
        return f"not judged: {result.why_not or 'no reason given'}"
    if result.standing == "near the line":
        return f"near the cut-off, on its {'worse' if result.short else 'better'} side"
    return "meets the cut-off" if result.standing == "meets" else "worse than the cut-off"


def leg_of(protocol: ScreenProtocol, trial: Trial) -> Side | None:
    """The leg of a trial; None for a two-legged test, whatever side its trial names."""
    spec = protocol.known_test(trial.test)
    return trial.side if spec is None or spec.sided else None


def with_side(name: str, side: Side | None) -> str:
    """``Step-down, left``; a two-legged test stands alone."""
    return f"{name}, {side}" if side else name


def test_on(protocol: ScreenProtocol, test_id: str, side: Side | None) -> str:
    """The name of a test with its side."""
    spec = protocol.known_test(test_id)
    return with_side(spec.name if spec else spaced(test_id), side)


def driver_on(protocol: ScreenProtocol, driver_id: str, side: Side | None) -> str:
    """The name of a driver with its side."""
    return with_side(driver_name(protocol, driver_id), side)


def caution_name(caution: CautionRaised) -> str:
    """A safety question that was answered yes, with how soon somebody must see to it."""
    return f"{caution.name} - {how_soon(caution)}"


def how_soon(caution: CautionRaised) -> str:
    """How soon somebody must see to it."""
    return "ask again" if caution.ask else URGENCY[caution.urgency]


def caution_means(caution: CautionRaised) -> str:
    """What a yes means; where there was none, what stands for it first."""
    because = caution.because
    return f"{because[0].upper()}{because[1:]}. {caution.means}" if because else caution.means


def caution_step(caution: CautionRaised) -> str:
    """What to do next."""
    return f"{caution.ask} If yes: {caution.next_step}" if caution.ask else caution.next_step


def precaution_words(raised: PrecautionRaised) -> str:
    """What to heed, and how soon somebody else sees the person, where one should."""
    how_soon = {"now": "Now: ", "today": "Today: ", "days": "Within days: "}
    return f"{how_soon[raised.urgency] if raised.urgency else ''}{raised.words}"


def start_for(protocol: ScreenProtocol, start: Start) -> str:
    """What an exercise is for, and that it needs a helper where it does."""
    text = start.why or f"for: {driver_on(protocol, start.driver, start.side)}"
    return f"{text}; only with somebody near" if start.with_helper else text


def for_each_leg(dose: str) -> bool:
    """Whether a dose is for each leg, so that it is not of one side."""
    return "each leg" in dose or "each side" in dose


def exercise_name(start: Start) -> str:
    """An exercise with the leg it trains, and that it needs a helper where it does."""
    side = None if for_each_leg(start.dose) else start.side
    helper = " (only with somebody near)" if start.with_helper else ""
    return f"{with_side(start.name, side)}{helper}"


def with_dose(start: Start, dose: str = "") -> str:
    """An exercise with its dose, or with a shorter one that is given; an own line alone."""
    return ": ".join(part for part in (exercise_name(start), dose or start.dose) if part)


def number(value: float, decimals: int) -> str:
    """A number as precise as it is recorded, and never a negative nought."""
    shown = f"{value:.{decimals}f}"
    return shown.removeprefix("-") if float(shown) == 0 else shown


def quantity(value: float, decimals: int, unit: str) -> str:
    """A number with its unit."""
    return f"{number(value, decimals)} {unit}".rstrip()


def result_amount(result: Result) -> str:
    """The value of a result with its unit, its grade, how far it came, or that there is none."""
    if result.in_words or result.value is None:
        return result.in_words or "no value"
    return quantity(result.value, result.decimals, result.unit)


def limit_words(line: LineUsed, result: Result) -> str:
    """``at least 12 repetitions``; the limit keeps the decimals it was published with."""
    shown = number(line.limit, result.decimals)
    exact = shown if float(shown) == line.limit else f"{line.limit:g}"
    return f"{line.meets} {exact} {result.unit}".rstrip()


def next_place(protocol: ScreenProtocol, item: NextTest) -> str:
    """A test to do next, and the cue with which, or without which, it is to be repeated."""
    place = short_on(protocol, item.test, item.side)
    if item.without:
        return f"{place}, once more without the cue {spaced(item.without)}"
    return f"{place}, with the cue {spaced(item.cue)}" if item.cue else place


def trial_value(spec: TestSpec | None, trial: Trial) -> str:
    """What a trial measured, in words; empty where it holds no number."""
    asked = {field.id for field in spec.timer.numbers} if spec else set()
    parts = []
    for name, angle in (("passive", trial.passive_deg), ("active", trial.active_deg)):
        if angle is not None:
            parts.append(f"{name} {angle:g} deg")
        elif f"{name}_deg" in asked:
            parts.append(f"{name} not recorded")
    if trial.value is not None and spec is not None and spec.timer.worded(trial.value):
        parts.append(spec.timer.worded(trial.value))
    elif trial.value is not None:
        at_least = ">= " if trial.ended == CAP else ""
        unit, decimals = "(unit not known: the test is not in this protocol)", 1
        if spec is not None and spec.timer.clocked and not spec.timer.counts:
            unit = "s"
        elif spec is not None:
            own = next((one for one in spec.measures if one.taken_from == "value"), None)
            unit, decimals = (own.unit, own.decimals) if own else (spec.timer.counts, 0)
        parts.append(at_least + quantity(trial.value, decimals, unit))
    return ", ".join(parts)


def correction_words(trial: Trial) -> str:
    """That a value was corrected by hand, why, and what stood there; empty when it was not."""
    if not trial.correction:
        return ""
    before = "no value" if trial.corrected_from is None else f"{trial.corrected_from:g}"
    return f"corrected by hand, {before} before ({trial.correction})"


SPARED = "shifts-to-one-side"
"""The sign of which the leg is told that is spared, not the one it is seen on."""


def marked_words(protocol: ScreenProtocol, trial: Trial, sign: str, *, timed: bool = True) -> str:
    """A sign of a trial, on which leg, how often, and when first as far as a clock ran.

    Such as ``pelvic drop, left, 3 times (first at 2.1 s)``; of uneven loading it is the spared leg.
    """
    count = trial.sign_counts.get(sign, 1)
    seconds = trial.sign_times.get(sign) if timed else None
    first = "at" if count == 1 else "first at"
    leg = {"left": "left", "right": "right", "both": "both legs"}.get(trial.sign_legs.get(sign, ""))
    spared = "spares the " if sign == SPARED and leg in ("left", "right") else ""
    often = "" if count == 1 else f"{count} times"
    name = sign_words(protocol, sign)
    counted = f"{name}, {spared}{leg}{', ' if often else ''}{often}" if leg else f"{name} {often}"
    when = "" if seconds is None else f" ({first} {seconds:g} s)"
    return f"{counted.strip()}{when}"


def set_up_words(trial: Trial) -> str:
    """How the test was set up, as far as it was noted."""
    heights = (("seat", trial.seat_cm), ("step", trial.step_cm), ("riser", trial.riser_cm))
    noted = [f"{name} {height:g} cm" for name, height in heights if height is not None]
    noted += [
        f"{name}: {spaced(word)}"
        for name, word in (("aid", trial.aid), ("footwear", trial.footwear))
        if word
    ]
    return "set-up: " + ", ".join(noted) if noted else ""


def joined(parts: Iterable[str]) -> str:
    """Parts of one line of a note, in order, empty ones left out."""
    return "; ".join(part for part in parts if part)


def history_words(protocol: ScreenProtocol, intake: Intake) -> dict[str, str]:
    """Each question of the history that was answered, with its answers, by its id in order."""
    labels = {question.id: question.label for question in protocol.history}
    answers = {
        (question.id, answer.id): answer.label
        for question in protocol.history
        for answer in question.answers
    }
    asked = [one for one in labels if one in intake.history]
    asked += [one for one in intake.history if one not in labels]
    return {
        one: f"{labels.get(one, spaced(one)).lower()}: "
        + ", ".join(answers.get((one, given), spaced(given)) for given in intake.history[one])
        for one in asked
    }


def strength_words(finding: Finding) -> str:
    """How much a finding says about a driver, in words, and what weakens it.

    The bounds are those of the users' guides to the medical literature for likelihood ratios
    (Jaeschke, Guyatt and Sackett 1994, JAMA 271:703-707; from memory).
    """
    factor = max(finding.factor, 1 / finding.factor)
    size = "strong" if factor >= 10 else "moderate" if factor >= 5 else "slight"
    parts = [size, "seen in pain" if finding.in_pain else "", "undone" if finding.undone else ""]
    return ", ".join(part for part in parts if part)


def seen_words(findings: Sequence[Finding]) -> str:
    """What was found in one test, all that a cue changed behind the cue."""
    plain = [one.words for one in findings if not one.cue]
    changed: dict[str, list[str]] = {}
    for one in findings:
        if one.cue:
            cue, _, did = one.words.partition(": ")
            changed.setdefault(cue, []).append(did)
    # A number has its level behind a colon already.
    between = "; " if any(":" in one for one in plain) else ", "
    return joined(
        [between.join(plain), *(f"{cue}: {', '.join(did)}" for cue, did in changed.items())]
    )


def between_words(protocol: ScreenProtocol, item: NextTest) -> str:
    """Between which drivers a test is expected to decide, as a question."""
    names = dict.fromkeys(driver_name(protocol, driver) for driver, _ in item.between)
    *first, last = names
    return f"{', '.join(first)} or {last}?" if first else f"{last}?"


def weeks_ago(weeks: int) -> str:
    """How long ago, in words."""
    return f"{weeks} week{'' if weeks == 1 else 's'} ago"


def moment(at: datetime) -> str:
    """A date and time with its offset from UTC: ``2026-03-02 09:15 +01:00``."""
    written = at.isoformat(timespec="minutes")
    return f"{written[:10]} {written[11:16]} {written[16:]}".rstrip()


def how_long(session: Session) -> str:
    """How long a session took; empty where the clock was set back."""
    if session.finished is None:
        return "not finished"
    minutes = (session.finished - session.started).total_seconds() / 60
    return f"{minutes:.0f} min" if minutes >= 0 else ""


def cue_effect_words(protocol: ScreenProtocol, effect: CueEffect) -> str:
    """Signs gone, signs that stayed, new signs, and each number against its error."""
    signs = {"gone": effect.cured, "still there": effect.persists, "new": effect.appeared}
    parts = [
        f"{words}: {', '.join(sign_words(protocol, sign) for sign in found)}"
        for words, found in signs.items()
        if found
    ]
    for change in effect.changes:
        after = quantity(change.after, change.decimals, change.unit)
        text = f"{change.label} {number(change.before, change.decimals)} to {after}"
        if change.error is None:
            parts.append(f"{text} (no published error for this age)")
            continue
        beyond = " beyond error" if change.verdict in ("better", "worse") else ""
        error = number(change.error, max(change.decimals, 1))
        parts.append(f"{text}: {change.verdict}{beyond} ({error}, MDC95)")
    return "; ".join(parts) or "nothing to see changed"


def went_on(session: Session) -> bool:
    """Whether the screen went on after the questions; it does so only when all were answered."""
    return bool(session.trials or session.skipped or session.finished or session.stopped)


SafetyAnswer = Literal["yes", "known and cleared", "denied", "not recorded"]


def safety_answer(session: Session, caution_id: str) -> SafetyAnswer:
    """Say how a safety question was answered.

    The program asks all the questions before it goes on, so a session that went on has heard a no
    to each that it asked and that is not listed; one that did not go on may have been left half-way
    through them. A question that is newer than the session was not asked.
    """
    if caution_id in session.intake.cautions:
        return "yes"
    if any(one.caution == caution_id for one in session.intake.cleared):
        return "known and cleared"
    asked = session.intake.safety_asked
    heard = went_on(session) and (not asked or caution_id in asked)
    return "denied" if heard else "not recorded"


def safety_words(session: Session, caution_id: str) -> str:
    """How a safety question was answered; of what was cleared, by whom, when and in which words."""
    answer = safety_answer(session, caution_id).replace("not recorded", "not asked")
    cleared = next((one for one in session.intake.cleared if one.caution == caution_id), None)
    if answer != "known and cleared" or cleared is None:
        return answer
    return joined([f"{answer} by {cleared.by}, {cleared.when}", cleared.words])


def short_labels(labels: Sequence[str]) -> list[str]:
    """Labels in small letters without the words they share; a single one goes without saying.

    ``Extension deficit`` and ``Extension lag`` become ``deficit`` and ``lag``.
    """
    if len(labels) < 2:
        return [""] * len(labels)
    apart = [label.lower().split() for label in labels]
    shared = set(apart[0]).intersection(*apart[1:])
    return [" ".join(word for word in words if word not in shared) for words in apart]
