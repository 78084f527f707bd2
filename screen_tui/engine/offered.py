"""Which tests of the battery a visit needs: for whom, what covers another, what calls for one."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.observe import Key, sides_of
from screen_tui.engine.safety import REFER_FIRST, loads_allowed, why_not_allowed
from screen_tui.fields import Side, same_leg
from screen_tui.protocol.model import BatteryItem, OnlyIf, ScreenProtocol
from screen_tui.session.model import Intake

WHEN_ASKED = "offered when asked for"
"""Why a test that nothing speaks against is no part of the usual visit."""


def why_not_offered(
    protocol: ScreenProtocol,
    intake: Intake,
    item: BatteryItem,
    age: int | None = None,
    *,
    chosen: Collection[str] = (),
    despite_cautions: bool = False,
) -> str:
    """Why a test of the battery is no part of a visit, in words; empty when it is.

    Whether a result calls for it is not looked at; `not_called_for` does.
    """
    if intake.cautions and not despite_cautions:
        return REFER_FIRST
    return why_not_allowed(protocol, intake, protocol.test(item.test)) or why_not_needed(
        protocol, intake, item, age, chosen=chosen
    )


def why_not_needed(
    protocol: ScreenProtocol,
    intake: Intake,
    item: BatteryItem,
    age: int | None = None,
    *,
    chosen: Collection[str] = (),
    done: Collection[str] = (),
    withheld: Collection[Key] = (),
) -> str:
    """Why a test that is allowed is not offered unless it is asked for; empty when it is.

    Args:
        chosen: Tests that were asked for; they are needed, and cover others as well.
        done: Tests that were done; they cover others whoever they are for.
        withheld: What earlier results speak against: it covers nothing.
    """
    if item.test in chosen:
        return ""
    if item.waits(age):
        return WHEN_ASKED
    covering = covered_by(protocol, intake, item, age, chosen={*chosen, *done}, withheld=withheld)
    if covering:
        name = protocol.test(covering).short_name
        return f"covered by the {name[0].lower()}{name[1:]}"
    if item.fits(intake.goals, age):
        return ""
    younger = "" if item.or_below_age is None else f", or for people below {item.or_below_age}"
    return f"meant for the goal {' or '.join(item.goals)}, which was not named{younger}"


def covered_by(
    protocol: ScreenProtocol,
    intake: Intake,
    item: BatteryItem,
    age: int | None = None,
    *,
    chosen: Collection[str] = (),
    withheld: Collection[Key] = (),
) -> str:
    """The id of the test that is offered in the place of another; empty when there is none.

    Those that were ``chosen``, asked for or done, come before all others; what earlier results
    speak against covers nothing.
    """
    fits = item.fits(intake.goals, age)
    passed = False
    for other in protocol.battery.items:
        passed = passed or other.test == item.test
        if item.test not in other.instead_of:
            continue
        if other.test in chosen:
            return other.test
        spec = protocol.test(other.test)
        # Of two that name each other the earlier comes first, where it is for this person.
        gives_way = passed and fits and other.test in item.instead_of
        if (
            not gives_way
            and not other.waits(age)
            and other.fits(intake.goals, age)
            and not why_not_allowed(protocol, intake, spec)
            and not all((spec.id, side) in withheld for side in sides_of(spec))
        ):
            return other.test
    return ""


def not_called_for(
    protocol: ScreenProtocol, intake: Intake, seen: Seen | None = None
) -> Mapping[Key, str]:
    """Every test and side that only a result would call for and none did, with the reason.

    The reason is empty before the test that decides was done. After a first one what is meant for
    younger people is among them.
    """
    full_load = "one-leg" in loads_allowed(protocol, intake)
    found: dict[Key, str] = {}
    for item in protocol.battery.items:
        rule = item.only_if
        if seen is not None and item.to_age is not None and seen.session.client.age > item.to_age:
            reason = f"Few people above {item.to_age} manage it."
            found |= {(item.test, side): reason for side in sides_of(protocol.test(item.test))}
        if rule is None or (rule.or_without_full_load and not full_load):
            continue
        for side in sides_of(protocol.test(item.test)):
            if seen is None or not _called_for(rule, side, seen):
                legs = sides_of(protocol.test(rule.any_of[0].test))
                decided = seen is not None and any(
                    seen.done(rule.any_of[0].test, leg) for leg in legs if same_leg(side, leg)
                )
                found[item.test, side] = rule.otherwise if decided else ""
    return found


def _called_for(rule: OnlyIf, side: Side | None, seen: Seen) -> bool:
    return any(
        test == one.test and same_leg(side, leg) and holds(one.when, seen, observation)
        for one in rule.any_of
        for (test, leg), observation in seen.observations.items()
    )
