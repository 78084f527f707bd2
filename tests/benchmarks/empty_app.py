"""The least that the framework can show and answer; what the program is held against."""

from __future__ import annotations

from textual.app import App, ComposeResult
from textual.widgets import Static

SHOWN = "Nothing to do"
KEY = "n"
ANSWERED = "Done"


class EmptyApp(App[None]):
    """One line of text, which a key replaces by another."""

    def compose(self) -> ComposeResult:
        """Lay out the line."""
        yield Static(SHOWN)

    def key_n(self) -> None:
        """Answer the key."""
        self.query_one(Static).update(ANSWERED)


if __name__ == "__main__":
    EmptyApp().run()
