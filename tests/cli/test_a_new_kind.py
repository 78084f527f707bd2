"""A kind of test is one module: a copy of the program with one file more runs it end to end."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

LAPS = '''
"""How many laps are done until somebody has had enough."""

from dataclasses import dataclass, replace
from typing import ClassVar, Literal

from screen_tui.timing.spec import OF_ANY, TimerWords, TimingSpec
from screen_tui.timing.timer import Phase, Timer


class Laps(TimingSpec):
    """Laps until the patient has had enough."""

    kind: Literal["laps"]
    metres: float

    counts: ClassVar = "laps"
    stop_is_an_end: ClassVar = True
    movement: ClassVar = "walk"
    reasons: ClassVar = {"dizzy": "dizzy from turning", **OF_ANY}
    words: ClassVar = TimerWords(
        target="laps of {metres:g} m", number="{done:03.0f}", unit="laps"
    )

    def timer(self, steps=None):
        return LapsTimer()


@dataclass(frozen=True, slots=True)
class LapsTimer(Timer):
    presses: tuple = ()
    stopped: float | None = None

    @property
    def phase(self):
        if not self.presses:
            return Phase.READY
        return Phase.RUNNING if self.stopped is None else Phase.ENDED

    @property
    def started(self):
        return self.presses[0] if self.presses else None

    @property
    def value(self):
        return float(len(self.presses) - 1) if self.stopped is not None else None

    def press(self, t):
        return self if self.stopped is not None else replace(self, presses=(*self.presses, t))

    def stop(self, t):
        return replace(self, stopped=t) if self.phase is Phase.RUNNING else self

    @property
    def count(self):
        return max(len(self.presses) - 1, 0)
'''

SCRIPT = """
import sys
from datetime import datetime, timezone
from pathlib import Path

from flow.trial_driving import kept, press
from screen_tui.cli.main import main
from support.trial_hands import TrialHands
from screen_tui.session.model import Client, Session
from screen_tui.files.toml_write import dump_toml
from support.protocol_folder import write_session
from support.small_protocol import finding, measure, test_spec

folder = Path(sys.argv[1])
spec = test_spec(
    "laps-test",
    timer={"kind": "laps", "metres": 20},
    plausible={"minimum": 0, "maximum": 99},
    measures=[measure(unit="laps", decimals=0)],
    signs=["unsteady"],
    findings=[finding("unsteady", hip=20)],
)
protocols = folder / "laps"
(protocols / "tests").mkdir(parents=True)
battery = {"id": "laps-set", "name": "Laps", "items": [{"test": "laps-test"}]}
(protocols / "laps-set.toml").write_text(dump_toml(battery))
bad = protocols / "tests" / "laps-test.toml"
written = dump_toml(spec.model_dump()).replace('"judgement"', '"clinical-judgement"')
bad.write_text(written)
state = TrialHands.at(spec, "left", ())
print("SHOWN", state.view(0.0).target, state.view(0.0).unit)
keys = ("space", 10.0), ("space", 14.0), ("space", 19.0), ("1", 20.0), ("enter", 21.0)
state = press(state, *keys)
print("SHOWN", state.view(22.0).big, state.view(22.0).state)
state = press(state, ("e", 23.0), ("1", 23.5))
print("SHOWN", state.view(24.0).ended)
trial = kept(press(state, ("enter", 25.0)))
session = Session.model_validate({
    "id": "toy", "protocol": "laps-set", "started": datetime(2026, 3, 2, tzinfo=timezone.utc),
    "client": {"label": "DEMO-77", "age": 64, "sex": "female"},
    "intake": {"complaints": ["pain"], "side": "left", "goals": ["walking"],
               "weight_bearing": "full", "one_leg_confirmed": False},
    "synthetic": True,
    "trials": [trial],
})
file = write_session(session, folder / "toy.toml")
print("CHECK", main(["check", str(protocols)]))
print("NOTE", main(["note", str(file), "-o", "-", "--protocols", str(protocols)]))
bad.write_text(written.replace("metres", "yards"))
print("REFUSED", main(["check", str(protocols)]))
"""


def test_one_more_module_is_one_more_kind(tmp_path: Path) -> None:
    shutil.copytree(
        ROOT / "screen_tui", tmp_path / "screen_tui", ignore=shutil.ignore_patterns("__pycache__")
    )
    (tmp_path / "protocols").symlink_to(ROOT / "protocols")
    (tmp_path / "screen_tui" / "timing" / "kinds" / "laps.py").write_text(LAPS)
    place = os.pathsep.join(str(one) for one in (tmp_path, ROOT / "tests", ROOT / "tests" / "flow"))
    ran = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(tmp_path)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": place, "SCREEN_TUI_HOME": str(tmp_path / "home")},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    said = ran.stdout
    assert "SHOWN laps of 20 m laps" in said
    assert "SHOWN 002 STOPPED" in said
    assert "SHOWN ended: dizzy from turning" in said
    assert "CHECK 0" in said
    assert "NOTE 0" in said
    assert "2 laps" in said
    assert "ended: dizzy from turning" in said
    assert "REFUSED 3" in said
    assert "metres" in said + ran.stderr
    assert "yards" in said + ran.stderr
