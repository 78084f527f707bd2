"""Which sessions are the visits of one client, what each number did, and what moved the answer."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from support.small_protocol import cue, cue_row, finding, test_spec
from support.small_protocol import protocol as small_protocol
from support.visit_case import rises, stance, three_visits, visit, visit_protocol

from screen_tui.engine import assess
from screen_tui.engine.visits import (
    MOST_VISITS,
    FindingChange,
    History,
    MeasureSeries,
    Visit,
    history_of,
    marks_of,
    visits_of,
    what_moved,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session

PROTOCOL = visit_protocol()


def labelled(label: str, number: int, **more: Any) -> Session:
    return visit(number, client={"label": label, "age": 60}, **more)


# ------------------------------------------------------------------ which belong together


def test_visits_belong_together_by_label_whatever_its_case_and_blanks_around_it() -> None:
    found = visits_of([labelled("k-014 ", 3), labelled("K-014", 1), labelled(" K-014", 2)])
    (client,) = found
    assert [one.id[-1] for one in client] == ["1", "2", "3"]
    assert client[-1].client.label.strip() == "k-014"  # as written at the latest visit
    (accented,) = visits_of([labelled("M\u00fc 3", 1), labelled("Mu\u0308 3", 2)])
    assert len(accented) == 2
    assert len(visits_of([labelled("K-014", 1), labelled("K 014", 2), labelled("K-0144", 3)])) == 3


def test_invented_people_are_never_mixed_with_others() -> None:
    found = visits_of([labelled("K-1", 1), labelled("K-1", 2, synthetic=False)])
    assert [(one[0].synthetic, len(one)) for one in found] == [(False, 1), (True, 1)]


def test_clients_stand_in_the_order_of_their_labels() -> None:
    found = visits_of([labelled("c", 1), labelled("A", 2), labelled("b", 3)])
    assert [one[-1].client.label for one in found] == ["A", "b", "c"]


def test_what_is_not_as_usual_about_a_session_is_marked() -> None:
    trial = stance(6.0)
    assert marks_of(visit(1, trial), []) == ()
    assert marks_of(visit(1, trial, finished=None), []) == ("not finished",)
    assert marks_of(visit(1, trial, stopped="dizzy", finished=None), []) == ("stopped: dizzy",)
    assert marks_of(visit(1), []) == ("no trial",)
    assert marks_of(visit(1, stance(6.0, void="helped")), []) == ("every trial void",)
    said = {"written": trial_written(), "reason": "typed twice"}
    words = visit(1, trial, addenda=[said | {"text": "It was windy."}])
    assert marks_of(words, []) == ("added to afterwards",)
    another = visit(1, trial, addenda=[said | {"trial": 1, "value": 7.0}])
    assert marks_of(another, []) == ("corrected afterwards",)
    struck = visit(1, trial, addenda=[said | {"trial": 1, "struck_out": True}])
    assert marks_of(struck, []) == ("every trial void", "corrected afterwards")
    original, copy = visit(1, trial), visit(1, trial, id="2026-visit-1-copy-2")
    assert marks_of(copy, [original, copy]) == ("a second file of session 2026-visit-1",)
    assert marks_of(copy, [copy]) == ()


def trial_written() -> datetime:
    return datetime(2026, 3, 3, 8, 0, tzinfo=UTC)


# ------------------------------------------------------------------ one number over time


def history(*sessions: Session) -> History:
    (client,) = visits_of(sessions)
    return history_of(PROTOCOL, client)


def course(told: History, test: str, side: str | None = None) -> MeasureSeries:
    return next(one for one in told.series if (one.test, one.side) == (test, side))


def test_each_number_stands_against_the_first_and_against_the_one_before() -> None:
    # The error is 2.772 * 1.5 = 4.158 s: 9.0 is within it, 14.0 beyond it against either.
    left = course(history(*three_visits()), "stance", "left")
    assert [point.reading.value for point in left.points] == [6.2, 9.0, 14.0]
    assert left.points[0].since_first is left.points[0].since_previous is None
    verdicts = [
        [change.verdict for change in (point.since_first, point.since_previous) if change]
        for point in left.points[1:]
    ]
    assert verdicts == [["within error", "within error"], ["better", "better"]]
    assert left.error is not None
    assert round(left.error.mdc95, 3) == 4.158
    assert left.line is not None
    assert left.line.limit == 10.0


def test_a_visit_without_the_number_is_passed_over_and_says_why() -> None:
    right = course(history(*three_visits()), "stance", "right")
    assert right.points[1].reading.missing == "not tested (short of time)"
    assert right.points[1].since_first is None
    assert right.measured == (0, 2)
    before = right.points[2].since_previous
    assert before is not None
    assert before.then.value == 45.0
    floor = course(history(*three_visits()), "floor-rise")
    assert floor.measured == (2,)
    assert floor.points[2].since_first is None


def test_a_number_corrected_afterwards_is_the_one_that_counts_and_is_marked() -> None:
    said = {"written": trial_written(), "reason": "typed twice", "trial": 1, "value": 8.0}
    told = history(visit(1, stance(6.2), addenda=[said]), visit(2, stance(9.0)))
    left = course(told, "stance", "left")
    assert [point.reading.value for point in left.points] == [8.0, 9.0]
    change = left.points[1].since_first
    assert change is not None
    assert change.remarks == ("corrected by hand then",)


def test_what_was_never_tested_has_no_course() -> None:
    told = history(*three_visits())
    assert not [one for one in told.series if one.test == "walk"]


def test_of_many_visits_the_first_and_the_latest_are_shown() -> None:
    many = [visit(number, stance(5.0 + number)) for number in range(1, 16)]
    told = history(*many)
    assert [one.number for one in told.visits] == [1, *range(5, 16)]
    assert len(told.visits) == MOST_VISITS
    assert told.left_out == 3
    assert history(*many[:12]).left_out == 0


def test_one_visit_is_a_history_without_changes() -> None:
    told = history(three_visits()[0])
    assert all(point.since_first is None for one in told.series for point in one.points)


def test_a_protocol_that_changed_between_visits_is_remarked_on_once() -> None:
    one, two, three = three_visits()
    old = {"protocol_digest": "sha256:" + "0" * 64}
    new = {"protocol_digest": PROTOCOL.digest}
    told = history(*(s.model_copy(update=d) for s, d in ((one, old), (two, new), (three, new))))
    assert len(told.remarks) == 1
    assert "between these visits" in told.remarks[0]


# ------------------------------------------------------------------ what moved the answer


def moved(then: Session, now: Session, protocol: ScreenProtocol = PROTOCOL) -> list[FindingChange]:
    return list(what_moved(*(Visit(1, one, assess(protocol, one), ()) for one in (then, now))))


def test_a_finding_that_went_is_shown_as_it_was_then() -> None:
    first, _, third = three_visits()
    (gone,) = moved(first, third)
    assert (gone.how, gone.driver, gone.side) == ("gone", "hip-control", "left")
    assert (gone.finding.what, gone.finding.there) == ("pelvis-drops", True)
    assert (gone.tested_then, gone.tested_now) == (True, True)
    (new,) = moved(third, first)
    assert (new.how, new.finding) == ("new", gone.finding)


def test_a_finding_nobody_looked_for_again_is_distinguished_from_one_that_went() -> None:
    first = visit(1, stance(6.2, "pelvis-drops"))
    (gone,) = moved(first, visit(2, rises(12.0)))
    assert (gone.how, gone.tested_now) == ("gone", False)
    said = {"written": trial_written(), "reason": "helped", "trial": 1, "struck_out": True}
    amended = visit(2, stance(6.2), addenda=[said])
    assert not moved(first, amended)[0].tested_now
    # The other leg, or a trial that was struck out, tells nothing of this one.
    other = visit(2, stance(6.2, side="right"), stance(6.2, void="helped"))
    assert not moved(first, other)[0].tested_now


def test_a_finding_with_a_cue_was_looked_for_only_where_the_cue_was_tried() -> None:
    rows = {"cue_effects": [cue_row("level", "pelvis-drops", none=20, hip=80)]}
    whole = small_protocol(test_spec("stance", cues=[cue()], **rows))
    plain = stance(6.0, "pelvis-drops")
    then, now = visit(1, plain, stance(6.0, cue="level")), visit(2, plain)
    (gone,) = moved(then, now, whole)
    assert (gone.how, gone.tested_now) == ("gone", False)


def test_a_finding_that_is_there_at_both_visits_has_not_moved() -> None:
    first, sore = visit(1, stance(6.2, "pelvis-drops")), stance(6.2, "pelvis-drops", ended="pain")
    assert moved(first, visit(2, stance(6.2, "pelvis-drops"))) == []
    assert moved(first, visit(2, sore)) == []


def test_what_moved_stands_strongest_first_and_what_hardly_moves_is_not_shown() -> None:
    rows = [
        finding("pelvis-drops", none=10, hip=20),
        finding("arch-collapses", none=10, foot=80),
        finding("unsteady", none=10, style=11),
    ]
    whole = small_protocol(test_spec("stance", findings=rows))
    signs = ("pelvis-drops", "arch-collapses", "unsteady")
    found = moved(visit(1, stance(6.0)), visit(2, stance(6.0, *signs)), whole)
    assert [(one.finding.what, one.driver) for one in found] == [
        ("arch-collapses", "foot-ankle-control"), ("pelvis-drops", "hip-control"),
    ]  # fmt: skip


def test_where_a_referral_came_first_nothing_moved() -> None:
    first, _, third = three_visits()
    referred = third.model_copy(
        update={"intake": third.intake.model_copy(update={"cautions": ("clot",)})}
    )
    assert moved(first, referred) == moved(referred, first) == []


def test_visits_that_began_at_once_keep_one_order() -> None:
    first = three_visits()[0]
    later = first.model_copy(update={"id": "2026-visit-9"})
    (client,) = visits_of([later, first])
    assert [one.id for one in client] == ["2026-visit-1", "2026-visit-9"]
    moved_on = first.model_copy(update={"started": first.started + timedelta(seconds=1)})
    assert visits_of([moved_on, later])[0][0].id == "2026-visit-9"
