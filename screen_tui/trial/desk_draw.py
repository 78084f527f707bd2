"""How a trial is told to whoever draws it; nothing here changes a trial."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.timing import Phase, Snapshot
from screen_tui.trial.desk_keys import key_line
from screen_tui.trial.desk_view import ChoiceRow, DeskView, FieldRow, SignRow
from screen_tui.trial.desk_watch import disturbance, doubt
from screen_tui.trial.ending import STRIKE_REASONS, reason_label
from screen_tui.trial.kept import ended_of, round_half_up
from screen_tui.trial.numbers import read_number
from screen_tui.trial.set_up import in_short, recorded

if TYPE_CHECKING:
    from screen_tui.trial.desk import Desk

FLASH_S = 1.0

_WHOSE = {"left": "LEFT leg", "right": "RIGHT leg", None: "both legs"}
_WAY = {"up": "going UP", "down": "going DOWN"}
_PAIN_KEYS = tuple(ChoiceRow(str(number), str(number)) for number in range(10))


def draw(desk: Desk, now: float) -> DeskView:
    """Give what there is to draw of a trial at `now`."""
    made = desk.made
    shot = made.timer.snapshot(now)
    state = state_word(desk, shot)
    timer = desk.spec.timer
    return DeskView(
        state=state,
        title=desk.spec.name,
        whose=_WAY[made.direction] if made.direction else _WHOSE[desk.side],
        big=_big(desk, shot, now),
        unit=_unit(desk),
        caption=_caption(desk),
        progress="" if shot.phase is Phase.READY else timer.progress(shot, made.steps),
        target=timer.target(made.steps),
        safety=desk.spec.instructions.safety,
        say=desk.spec.instructions.say,
        ends_when=desk.spec.instructions.ends_when,
        signs=tuple(
            SignRow(str(number), label, sign in made.signs)
            for number, (sign, label) in enumerate(desk.labels, start=1)
        ),
        signs_current=not desk.prompt and not desk.entry.on_field and desk.kept is None,
        pain="" if made.pain is None else f"pain {made.pain} of 10",
        set_up=in_short(recorded(desk.set_up, made.signs)),
        ended=f"ended: {reason_label(ended_of(made))}" if ended_of(made) else "",
        hint="; ".join(part for part in (_hint(desk, shot, now), disturbance(desk)) if part),
        question=doubt(desk) or (timer.question if made.asking else desk.question),
        error=desk.error,
        fields=_fields(desk),
        choices=_choices(desk),
        keys=key_line(desk),
        bell=desk.bell,
        flash=desk.rang_at is not None and 0 <= now - desk.rang_at < FLASH_S,
    )


def state_word(desk: Desk, shot: Snapshot) -> str:
    """Say in one word where the trial stands."""
    if desk.kept is not None:
        return "KEPT"
    if desk.made.counting_in:
        return "COUNT-IN"
    if desk.in_doubt:
        return "ASKING"
    if desk.entry.fields and not desk.entry.on_field:
        return "SIGNS, THEN KEEP"
    return desk.spec.timer.state(shot)


def _big(desk: Desk, shot: Snapshot, now: float) -> str:
    if desk.entry.fields:
        # A hyphen holds the place, so that nothing moves with the first digit.
        return (desk.entry.text.replace(",", ".") or "-") if desk.entry.on_field else ""
    timer = desk.spec.timer
    number = timer.main_number(_seconds(desk, shot), _corrected(desk, shot.count))
    return _at_go(desk, now, timer.width()) or number


def _at_go(desk: Desk, now: float, width: int) -> str:
    """The seconds left of a count-in, as wide as the number that follows; "" when there is none."""
    made = desk.made
    if not made.counting_in or made.go_at is None:
        return ""
    return str(max(math.ceil(made.go_at - now), 1)).rjust(width)


def _seconds(desk: Desk, shot: Snapshot) -> float:
    if desk.made.fixed is not None:
        return _corrected(desk, shot.elapsed)
    # A running time is cut, so that the target never shows before it is reached; an ended one is
    # shown as it is recorded.
    if desk.made.running and not shot.resting:
        return math.floor(shot.elapsed * 10 + 1e-6) / 10
    return round_half_up(shot.elapsed, 1)


def _corrected(desk: Desk, timed: float) -> float:
    """The value typed by hand, where there is one."""
    typed = None if desk.made.fixed is None else read_number(desk.made.fixed[0])
    return timed if typed is None else typed


def _unit(desk: Desk) -> str:
    return desk.spec.timer.unit(desk.series.measure.unit if desk.series.measure else "")


def _caption(desk: Desk) -> tuple[str, ...]:
    lines = [_trial_line(desk)]
    if desk.series.cue:
        said = next((cue.say for cue in desk.spec.cues if cue.id == desk.series.cue), "")
        lines.append(f"With the cue: {said or desk.series.cue}")
    if desk.made.fixed is not None:
        timed = desk.made.timer.value
        was = "" if timed is None else f", {round_half_up(timed, 1):g} was timed"
        lines.append(f"Corrected by hand ({desk.made.fixed[1]}{was})")
    if desk.made.note:
        lines.append(f"Note: {desk.made.note}")
    return tuple(line for line in lines if line)


def _trial_line(desk: Desk) -> str:
    series = desk.series
    number = len(series.counting) + 1
    if desk.spec.timer.directions:
        line = ""
    elif number <= series.wanted and series.wanted > 1:
        line = f"Trial {number} of {series.wanted}"
    else:
        line = f"Trial {number}" if number > 1 else ""
    return " - ".join(part for part in (line, series.so_far) if part)


def _hint(desk: Desk, shot: Snapshot, now: float) -> str:
    if desk.ring.holding(now):
        return "held key ignored"
    if desk.hint:
        return desk.hint
    if desk.made.pain is not None and desk.made.pain > PAIN_LIMIT and desk.kept is None:
        return f"pain above {PAIN_LIMIT} of 10: end the test"
    if desk.stopped_without_reason:
        return "stopped early: e says why, then Enter keeps"
    return "" if shot.asking else shot.note


def _fields(desk: Desk) -> tuple[FieldRow, ...]:
    entry = desk.entry
    return tuple(
        FieldRow(
            label=field.label,
            typed=entry.texts[place],
            hint=field.hint,
            current=place == entry.at,
            # What is still being typed is not judged; the present field is judged by Enter.
            error="" if place == entry.at else entry.problem(place),
        )
        for place, field in enumerate(entry.fields)
    )


def _choices(desk: Desk) -> tuple[ChoiceRow, ...]:
    if desk.prompt == "pain":
        return (*_PAIN_KEYS, ChoiceRow("t", "10"))
    if desk.prompt == "strike":
        return tuple(
            ChoiceRow(str(number), reason) for number, reason in enumerate(STRIKE_REASONS, start=1)
        )
    return ()
