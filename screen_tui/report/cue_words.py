"""What a cue changed, in one sentence."""

from __future__ import annotations

from screen_tui.engine.results import CueEffect, MeasureChange
from screen_tui.protocol.model import Protocol
from screen_tui.report.words import number, quantity, sign_words, spaced


def cue_label(effect: CueEffect) -> str:
    """Which cue a test was repeated with."""
    return f"With the cue {spaced(effect.cue)}"


def cue_effect_words(protocol: Protocol, effect: CueEffect) -> str:
    """Signs gone, signs that stayed, new signs, and each number against its error."""
    signs = [
        (words, ", ".join(sign_words(protocol, sign) for sign in found))
        for words, found in (
            ("gone", effect.cured),
            ("still there", effect.persists),
            ("new", effect.appeared),
        )
        if found
    ]
    parts = [f"{words}: {found}" for words, found in signs]
    parts += [_change_words(change) for change in effect.changes]
    return "; ".join(parts) or "nothing to see changed"


def _change_words(change: MeasureChange) -> str:
    after = quantity(change.after, change.decimals, change.unit)
    told = f"{change.label} {number(change.before, change.decimals)} to {after}"
    if change.error is None:
        return f"{told} (no published error to judge it by)"
    verdict = {"better": "better beyond error", "worse": "worse beyond error"}
    error = number(change.error, max(change.decimals, 1))
    return f"{told}: {verdict.get(change.verdict, change.verdict)} ({error}, MDC95)"
