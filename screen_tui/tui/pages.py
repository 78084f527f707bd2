"""The pages one goes to, which need the models: imported once the first page is painted.

All at once, so that neither the first answer nor a running clock waits for an import. What is
seldom opened from one of them is imported by it then.
"""

from screen_tui.tui.screens.before_testing import BeforeTestingPage
from screen_tui.tui.screens.note import NotePage
from screen_tui.tui.screens.result import PlanPage, ResultPage
from screen_tui.tui.screens.save_trouble import (
    LEAVING,
    TRY_AGAIN,
    LeavePage,
    TroublePage,
    leave_page,
    trouble_page,
)
from screen_tui.tui.screens.start import StartPage
from screen_tui.tui.screens.stop_screen import stop_screen_page
from screen_tui.tui.screens.test import TestPage

__all__ = [
    "LEAVING",
    "TRY_AGAIN",
    "BeforeTestingPage",
    "LeavePage",
    "NotePage",
    "PlanPage",
    "ResultPage",
    "StartPage",
    "TestPage",
    "TroublePage",
    "leave_page",
    "stop_screen_page",
    "trouble_page",
]
