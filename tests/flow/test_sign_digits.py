"""The digit of a sign, which is the same in every test."""

from __future__ import annotations

import pytest
from support.trial_hands import TrialHands
from trial_driving import press

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import TestSpec

PROTOCOL = load_protocol([protocols_folder()])


def ready(spec: TestSpec) -> TrialHands:
    """A trial whose numbers, if it has any, are typed already: the digits go to the signs."""
    hands = TrialHands.at(spec, "left" if spec.sided else None, PROTOCOL.signs)
    for nth, _ in enumerate(hands.entry.fields):
        hands = press(hands, ("down", 10.0 + nth))
    return hands


@pytest.mark.parametrize("spec", PROTOCOL.tests, ids=lambda spec: spec.id)
def test_a_sign_has_its_own_digit_in_every_test(spec: TestSpec) -> None:
    of_digit = {PROTOCOL.sign(sign).digit: sign for sign in spec.signs}
    for digit in range(1, 10):
        marked = press(ready(spec), (str(digit), 100.0)).input.signs
        assert marked == ((of_digit[digit],) if digit in of_digit else ())


@pytest.mark.parametrize("spec", PROTOCOL.tests, ids=lambda spec: spec.id)
def test_the_signs_are_shown_in_the_order_of_their_digits(spec: TestSpec) -> None:
    keys = [row.key for row in ready(spec).view(100.0).signs]
    assert keys == sorted(str(PROTOCOL.sign(sign).digit) for sign in spec.signs)
