"""The least that the framework can show; what the program is held against."""

from __future__ import annotations

from textual.app import App, ComposeResult
from textual.widgets import Static

SHOWN = "Nothing to do"


class EmptyApp(App[None]):
    """One line of text."""

    def compose(self) -> ComposeResult:
        """Lay out the line."""
        yield Static(SHOWN)


if __name__ == "__main__":
    EmptyApp().run()
