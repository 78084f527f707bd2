"""A scripted clinician who decides by plain rules, and knows nothing of the program's evidence.

Read is only what a student can see or hear: signs, times and numbers as they are shown, what a
cue changes, age, and the answers to the history. Each rule gives its points to one driver, the
most points win, and the first of equals in this order. The rules and their points are common
practice, no source; the limits of times are round numbers from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from statistics import fmean

from screen_tui.engine.safety import URGENCY
from screen_tui.practice.case import TrueDriver
from screen_tui.practice.scoring import Commitment
from screen_tui.protocol.knowledge import Urgency
from screen_tui.session.model import Session, Trial

SURE, FITS, HINT = 3, 2, 1
"""Points: a sign that is nearly the driver itself, one that goes with it, a hint."""

OF_A_LEG = ("knee-extension", "quad-weakness", "foot-ankle-control", "hip-control")
OF_THE_PERSON = ("movement-strategy", "balance", "deconditioning")

ONE_LEG = ("single-leg-stance", "step-down", "one-leg-rise", "stair-steps")
CHAIR = ("five-chair-stands", "chair-stands-30s", "timed-up-and-go")
LEVEL = {"pelvis-drops", "trunk-leans", "hip-hikes"}
"""The signs of a hip that does not hold the body level."""

HOW_SOON: Mapping[str, Urgency] = {
    "heart-or-dizziness": "now",
    "joint-infection": "today",
    "clot": "today",
    "fracture-rule": "today",
    "locked-knee": "today",
    "extensor-mechanism": "today",
    "night-pain-or-illness": "days",
}
"""How soon somebody must see the person, by what was answered yes."""


class Clinician:
    """What was seen of one patient, and what is made of it.

    Args:
        session: What was recorded.
    """

    def __init__(self, session: Session) -> None:
        self.trials = [trial for trial in session.trials if trial.counts]
        self.alarms = session.intake.cautions
        self.history = session.intake.history
        self.side = session.intake.side
        self.age = session.client.age or 50

    def decides(self) -> Commitment:
        """Who must be seen first is; else the driver with the most points, if any has some."""
        if self.alarms:
            soon = min((HOW_SOON[one] for one in self.alarms), key=list(URGENCY).index)
            return Commitment(answer="refer-first", how_soon=soon, confidence=5)
        points = {name: sum(self._points(name)) for name in (*OF_A_LEG, *OF_THE_PERSON)}
        most = max(points, key=lambda name: points[name])
        if not points[most]:
            return Commitment(answer="undetermined", confidence=1)
        side = self.side if most in OF_A_LEG else None
        return Commitment(
            answer="driver", drivers=(TrueDriver(driver=most, side=side),), confidence=4
        )

    def _points(self, driver: str) -> Iterator[int]:
        yield from getattr(self, f"_{driver.replace('-', '_')}")()

    # -- of a leg

    def _knee_extension(self) -> Iterator[int]:
        """Passively the knee does not come straight; it lands bent; it hurts in walking."""
        yield 2 * SURE if self._missing >= 6 else SURE if self._missing >= 3 else 0
        yield FITS * self._seen("bent-knee-contact", "walk-4m", "timed-up-and-go")
        yield HINT * ("walking" in self._said("worse-with"))

    def _quad_weakness(self) -> Iterator[int]:
        """Passively straight but not actively, no firm set, few raises; or not up, not down on it.

        A knee that comes straight and yet lands bent is spared for want of force.
        """
        lag = max((self._lag(one) for one in self._of("knee-extension")), default=0)
        yield SURE * (lag >= 5)
        yield SURE * self._seen("extension-lag", "quad-set", "straight-leg-raise-hold")
        yield SURE * self._seen("no-contraction", "quad-set", "knee-extension")
        raises = [one.value for one in self._of("straight-leg-raise-hold") if one.value is not None]
        yield SURE if raises and max(raises) < 10 else 0
        yield FITS * any(one.broken_off for one in self._of("step-down", "one-leg-rise"))
        yield FITS * self._seen("shifts-to-one-side", *CHAIR, "squat", "floor-rise")
        yield FITS * self._seen("drops-to-seat", *CHAIR)
        yield FITS * (self._seen("bent-knee-contact", "walk-4m") and self._missing < 3)
        yield FITS * (self._rises_slowly and not self._walks_slowly)
        yield HINT * self._seen("hands-used", *CHAIR)
        yield HINT * self._seen("handrail", "stair-steps")
        yield HINT * (self._said("giving-way") == {"without-pain"})
        yield HINT * self._down_is_slower()

    def _foot_ankle_control(self) -> Iterator[int]:
        """The arch gives way or the ankle is stiff; lifting the arch puts it right."""
        yield FITS * self._tests_with({"arch-collapses"}, *ONE_LEG, "squat", "walk-4m")
        yield SURE * self._cleared("arch-lifted", {"knee-moves-in", "knee-past-foot"})
        yield FITS * self._cleared("arch-lifted", {"arch-collapses"})
        yield FITS * self._cleared("heels-on-wedge", {"knee-moves-in", "heels-rise"})
        reach = [one.value for one in self._of("knee-to-wall") if one.value is not None]
        yield FITS if reach and min(reach) < 8 else 0
        yield FITS * ("ankle-sprain" in self._said("earlier-injury"))

    def _hip_control(self) -> Iterator[int]:
        """The pelvis and trunk do not stay level, and do when told to; then the knee stays too."""
        yield FITS * self._tests_with(LEVEL, *ONE_LEG, "walk-4m")
        yield SURE * self._cleared("pelvis-level", LEVEL)
        yield FITS * self._cleared("pelvis-level", {"knee-moves-in", "knee-past-foot"})
        yield HINT * ("hip-problem" in self._said("earlier-injury"))

    # -- of the person

    def _movement_strategy(self) -> Iterator[int]:
        """The set-up loads the knee, and another set-up changes it."""
        ways = ("feet-forward", "trunk-upright", "knees-together", "forefoot-only", "over-stride")
        yield FITS * sum(self._seen(sign) for sign in ways)
        for cue in ("feet-back", "hip-width", "whole-foot", "shorter-steps", "hips-back"):
            yield FITS * self._cleared(cue, {*ways, "heels-rise"})
            yield HINT * self._eased(cue)

    def _balance(self) -> Iterator[int]:
        """A narrow base is not held, on neither leg, although the leg stays in line."""
        tandem = self._best("tandem-stance")
        yield 2 * SURE if tandem is not None and tandem < 10 else 0
        left, right = (self._best("single-leg-stance", side) for side in ("left", "right"))
        if left is not None and right is not None:
            yield SURE * (max(left, right) < self._usual_stance)
        yield FITS * min(self._tests_with({"unsteady"}), 3)
        yield HINT * self._tests_with({"arms-move"})
        yield HINT * ("one" in self._said("falls"))

    def _deconditioning(self) -> Iterator[int]:
        """Walking and rising are slow and slow down, with nothing on one leg to explain it."""
        yield SURE * self._walks_slowly
        yield SURE * (self._walks_slowly and self._rises_slowly)
        yield FITS * any(map(self._slows, self._of("five-chair-stands", "chair-stands-30s")))
        yield FITS * any(one.ended in ("fatigue", "breathless") for one in self._of(*CHAIR))
        yield HINT * ("down" in self._said("load-change"))
        yield HINT * ("sits" in self._said("activity"))

    # -- what is looked at

    def _of(self, *tests: str, cue: str = "") -> list[Trial]:
        """Trials of those tests: of the complaint leg, or of both legs together."""
        return [
            one
            for one in self.trials
            if one.test in tests and one.cue == cue and one.side in (None, self.side)
        ]

    def _best(self, test: str, side: str | None = None) -> float | None:
        of = [one for one in self.trials if one.test == test and not one.cue]
        values = [one.value for one in of if one.value is not None and one.side == side]
        if not values:
            return None
        return max(values) if "stance" in test else min(values)

    def _tests_with(self, signs: set[str], *tests: str) -> int:
        """In how many tests one of the signs was seen; in any test where none is named."""
        among = tests or tuple({one.test for one in self.trials})
        return len({one.test for one in self._of(*among) if signs & {*one.signs}})

    def _seen(self, sign: str, *tests: str) -> bool:
        return self._tests_with({sign}, *tests) > 0

    def _cleared(self, cue: str, signs: set[str]) -> bool:
        """One of the signs was there, and gone with the cue."""
        return any(
            signs & {*before.signs} - {*after.signs}
            for after in self.trials
            if after.cue == cue
            for before in self._of(after.test)
            if (before.side, before.direction) == (after.side, after.direction)
        )

    def _eased(self, cue: str) -> bool:
        """The pain was two points less with the cue."""
        return any(
            (before.pain or 0) - (after.pain or 0) >= 2
            for after in self.trials
            if after.cue == cue
            for before in self._of(after.test)
            if before.side == after.side
        )

    def _said(self, question: str) -> set[str]:
        return {*self.history.get(question, ())}

    @property
    def _missing(self) -> float:
        """Degrees by which the knee does not come straight passively."""
        return max((one.passive_deg or 0 for one in self._of("knee-extension")), default=0)

    @property
    def _walks_slowly(self) -> bool:
        """Below 1 m/s, or up and go slower than is usual for the age."""
        walk, up_and_go = self._best("walk-4m"), self._best("timed-up-and-go")
        usual = 9 if self.age < 70 else 11
        return (walk is not None and walk > 4.0) or (up_and_go is not None and up_and_go > usual)

    @property
    def _rises_slowly(self) -> bool:
        """Five rises in more than 13 s, or fewer in half a minute than is usual for the age."""
        five = self._best("five-chair-stands")
        stands = [one.value for one in self._of("chair-stands-30s") if one.value is not None]
        few = bool(stands) and max(stands) < (14 if self.age < 70 else 11)
        return few or (five is not None and five > 13)

    @staticmethod
    def _lag(one: Trial) -> float:
        return (one.active_deg or 0) - (one.passive_deg or 0)

    def _down_is_slower(self) -> bool:
        ways = {one.direction: one.value for one in self._of("stair-steps") if one.value}
        return ways.get("down", 0) > 1.2 * ways.get("up", 1000)

    @staticmethod
    def _slows(one: Trial) -> bool:
        """The last third of the rises takes a fifth longer than the first."""
        times: Sequence[float] = [b - a for a, b in zip((0, *one.splits), one.splits, strict=False)]
        third = len(times) // 3
        return bool(third) and fmean(times[-third:]) > 1.2 * fmean(times[:third])

    @property
    def _usual_stance(self) -> float:
        """Seconds on one leg that most of that age reach."""
        return 30 if self.age < 60 else 20 if self.age < 70 else 10
