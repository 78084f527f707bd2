"""Draw the pictures of the README: ``.venv/bin/python tests/pictures/draw.py``.

A person who does not exist is screened by hands that do not shake: the same keys, the same times,
the same pictures each time. They land in ``.pictures/``.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from contextlib import asynccontextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from support.clock import FakeClock  # noqa: E402
from support.form_keys import LEFT_AND_SAFE, SHIPPED_NOT_ASKED  # noqa: E402
from support.hands import Driver  # noqa: E402  (the folder of the tests is no package)

from screen_tui.files.places import demo_folder, preferences_file, protocols_folder  # noqa: E402
from screen_tui.preferences import Opened, Preferred  # noqa: E402
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol  # noqa: E402
from screen_tui.session.store import SessionStore  # noqa: E402
from screen_tui.tui.app import ScreenApp  # noqa: E402

PICTURES = ROOT / ".pictures"
WIDE, SMALL = (80, 24), (60, 20)
UNWANTED = (
    re.compile(r"@font-face \{.*?\}\s*", re.DOTALL),  # fonts from the network
    re.compile(r"\s*<!--.*?-->", re.DOTALL),
    re.compile(r"\s*<circle .*?/>"),  # a window's buttons, in the colours of a traffic light
    re.compile(r"Fira Code, "),  # a font nobody has without the network
)
"""What the export adds and a picture of this program has no business to hold."""


@asynccontextmanager
async def program(size: tuple[int, int]):
    """Open the program in a window of that size, with a clock of its own and nothing saved."""
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    with tempfile.TemporaryDirectory() as folder:
        clock = FakeClock()
        store = SessionStore(Path(folder))
        opened = Opened(protocol, store, Preferred(preferences_file()), demo_folder())
        app = ScreenApp(opened, clock, tick=False, environ={})
        async with app.run_test(size=size) as pilot:
            driver = Driver(app, pilot, clock)
            await driver.settle()
            yield driver


def keep(driver: Driver, name: str) -> None:
    """Write what is on the screen as a picture."""
    drawn = driver.app.export_screenshot(title="screen-tui", simplify=True)
    for unwanted in UNWANTED:
        drawn = unwanted.sub("", drawn)
    PICTURES.mkdir(exist_ok=True)
    (PICTURES / f"{name}.svg").write_text(drawn, encoding="utf-8")


async def answer(driver: Driver) -> None:
    """Answer up to the goals: left knee, nothing to worry about, full load, pain."""
    await driver.press("n", *LEFT_AND_SAFE, "1", "enter", "1", "enter")


async def go_to(driver: Driver, test: str) -> None:
    """Go to the first leg of a test."""
    items = driver.app.screen.itinerary.items
    driver.app.screen.take_up(next(item for item in items if item.test == test))
    await driver.settle()


async def questions(driver: Driver) -> None:
    """Before testing: the safety questions on one page, some of them answered."""
    await driver.press("n", "l", "n", "n", "n")
    keep(driver, "before-testing")


async def trial(driver: Driver, name: str) -> None:
    """A stance while the clock runs, a sign tagged."""
    await answer(driver)
    await driver.press(
        "1", "4", "enter", *SHIPPED_NOT_ASKED, *"k-014", "enter", *"67", "enter", "1"
    )
    await driver.press("enter")
    await go_to(driver, "single-leg-stance")
    start = driver.clock.monotonic() + 5
    driver.pass_time(5)
    await driver.press_at("space", start)
    await driver.press_at("1", start + 3.1)
    driver.pass_time(8.4)
    await driver.wait(0)
    keep(driver, name)


async def result(driver: Driver) -> None:
    """The answer and the plan of an invented session."""
    choices = [choice.text for choice in driver.app.screen.lines()]
    at = next(place for place, text in enumerate(choices) if "age 34" in text or "DEMO-01" in text)
    await driver.press(*["down"] * at, "enter")
    keep(driver, "result")
    await driver.press("enter")
    keep(driver, "plan")


async def visits(driver: Driver) -> None:
    """The page of an invented patient who came three times."""
    await driver.press("v")
    lines = driver.app.screen.lines()
    at = max(range(len(lines)), key=lambda place: "3 visits" in lines[place].text)
    await driver.press(*["down"] * at, "enter")
    keep(driver, "visits")


async def draw() -> None:
    """Draw all of them."""
    async with program(WIDE) as driver:
        await questions(driver)
    async with program(WIDE) as driver:
        await trial(driver, "test")
    async with program(SMALL) as driver:
        await trial(driver, "test-small")
    async with program((110, 30)) as driver:
        await result(driver)
    async with program((110, 30)) as driver:
        await visits(driver)


if __name__ == "__main__":
    asyncio.run(draw())
