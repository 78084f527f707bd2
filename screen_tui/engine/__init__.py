"""What it means: grade, weigh, plan; one pure call, `assess`."""

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment

__all__ = ["Assessment", "assess"]
