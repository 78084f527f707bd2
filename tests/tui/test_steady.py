"""No garbage is collected while the program opens, and what stays is set aside after."""

from __future__ import annotations

import gc
import weakref

import pytest

from screen_tui.tui import steady


def test_nothing_is_collected_until_it_is_set_aside() -> None:
    with steady.uncollected():
        assert not gc.isenabled()
        steady.set_aside()
        assert gc.isenabled()
        assert gc.get_freeze_count() > 1000
    assert gc.isenabled()
    assert gc.get_freeze_count() < 1000


def test_what_was_never_set_aside_is_collected_again_too() -> None:
    with pytest.raises(ZeroDivisionError), steady.uncollected():
        raise ZeroDivisionError
    assert gc.isenabled()


class Left:
    """Something that only the collector can clear away."""

    def __init__(self) -> None:
        self.itself = self


def test_what_loading_left_behind_is_not_kept_for_good() -> None:
    with steady.uncollected():
        gone = weakref.ref(Left())
        steady.set_aside()
        assert gone() is None
