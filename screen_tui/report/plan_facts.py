"""What goes with a plan: why it is empty, precautions, and when to test again."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Outcome
from screen_tui.engine.safety import LIMITS, PAIN_LIMIT
from screen_tui.protocol.model import Protocol
from screen_tui.report.facts import Fact
from screen_tui.report.words import WEIGHT_BEARING, joined, test_name, weeks_ago, with_side
from screen_tui.session.model import Session

SUGGESTIONS = "Rule-based suggestions; the clinician takes, changes or drops each."
NOTHING_LEFT_OUT = "nothing is named by these findings"
NO_PRECAUTIONS = "none arose from what was recorded"
RETEST_DATE = "Test again on (date, set by the clinician)"
STOP_AT_ONCE = "End a test at once for"

_NO_START: dict[Outcome, str] = {
    "refer-first": "nothing; refer first",
    "nothing-found": "nothing; these tests found nothing to work on",
    "undetermined": "nothing yet; the findings do not settle on a driver",
    "unloaded-only": "nothing yet; only unloaded tests could be done",
}


def nothing_to_start(outcome: Outcome) -> str:
    """Why a plan without exercises has none."""
    return _NO_START.get(outcome, "nothing is suggested by these findings")


def precautions(session: Session, assessment: Assessment) -> list[str]:
    """What the plan must heed, from the questions, the orders and the pain in testing."""
    intake = session.intake
    found = [f"{caution.name}: {caution.next_step}" for caution in assessment.cautions]
    if intake.weight_bearing != "full":
        found.append(f"weight-bearing allowed: {WEIGHT_BEARING[intake.weight_bearing]}")
    found += [LIMITS[one] for one in intake.precautions]
    if intake.recent_surgery_weeks is not None:
        found.append(f"surgery {weeks_ago(intake.recent_surgery_weeks)}: local limits come first")
    kept = [trial for trial in session.as_amended.trials if trial.counts]
    pains = [trial.pain for trial in kept if trial.pain is not None]
    if pains and max(pains) > PAIN_LIMIT:
        found.append(f"pain up to {max(pains)} of 10 during testing")
    return found


def retest_facts(protocol: Protocol, session: Session, assessment: Assessment) -> list[Fact]:
    """What to test again and when, for each leading driver, and how to keep it comparable."""
    if assessment.outcome == "refer-first":
        return [Fact("", "Only once the referral has been answered.")]
    leading = {driver.driver for driver in assessment.leading}
    facts = [
        Fact(driver.name, driver.retest, driver.source)
        for driver in protocol.drivers
        if driver.id in leading and driver.retest
    ]
    again = dict.fromkeys(
        with_side(test_name(protocol, result.test), result.side)
        for result in assessment.results
        if result.standing in ("short of the line", "near the line")
    )
    if again:
        facts.append(Fact("Tests to repeat", joined(list(again))))
    if session.trials:
        same = "Same side, same set-up, same use of hands, or it cannot be compared."
        facts.append(Fact("", same))
    return facts


def stop_rule_facts(protocol: Protocol, session: Session, assessment: Assessment) -> list[Fact]:
    """The reasons to end a test at once, where a test is to be repeated."""
    if assessment.outcome == "refer-first" or not session.trials:
        return []
    return [Fact("", rule.text, rule.source) for rule in protocol.stop_rules]
