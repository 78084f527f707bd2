"""The protocol that comes with the program, read once."""

from __future__ import annotations

import pytest

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import Protocol


@pytest.fixture(scope="module")
def protocol() -> Protocol:
    return load_protocol([protocols_folder()])
