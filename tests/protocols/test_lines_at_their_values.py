"""At which value each line fires: strict or not, by age on the day, and nothing beyond its ages.

The sources of the figures stand in ``test_published_figures.py``.
"""

from __future__ import annotations

import pytest
from shipped_protocol import judging_limit, limits, line, meets, shipped

ANY_AGE = range(5, 111)


@pytest.mark.parametrize(
    ("age", "sex", "stands", "good"),
    [
        # "Fewer than" is strict: the number itself is not below average.
        (72, "female", 9, False),
        (72, "female", 10, True),
        # The band changes on the birthday.
        (64, "male", 13, False),
        (65, "male", 13, True),
        (91, "female", 4, True),
        (91, "female", 3, False),
        (90, "male", 6, False),
        (90, "male", 7, True),
    ],
)
def test_thirty_second_stand(age: int, sex: str, stands: float, good: bool) -> None:
    assert meets("chair-stands-30s", "average-for-age", stands, age, sex) is good


@pytest.mark.parametrize("age", [18, 58, 59, 95, 100])
@pytest.mark.parametrize("sex", ["female", "male"])
def test_thirty_second_stand_has_no_line_outside_its_ages(age: int, sex: str) -> None:
    assert judging_limit("chair-stands-30s", "stands", age, sex) is None


def test_a_line_by_sex_has_none_for_an_unspecified_sex() -> None:
    assert judging_limit("chair-stands-30s", "stands", 72, "unspecified") is None


def test_five_stands_of_a_man_of_68_in_13_2_s() -> None:
    # Worse than average and on the bad side of the fall screen, but not low strength.
    assert not meets("five-chair-stands", "average-for-age", 13.2, 68, "male")
    assert not meets("five-chair-stands", "fall-screen", 13.2, 68, "male")
    assert meets("five-chair-stands", "low-strength", 13.2, 68, "male")


@pytest.mark.parametrize(
    ("line_id", "value", "good"),
    [
        # "Slower than 11.4" and "more than 15" leave the figure itself good; "12 or more" not.
        ("average-for-age", 11.4, True),
        ("average-for-age", 11.41, False),
        ("low-strength", 15.0, True),
        ("low-strength", 15.01, False),
        ("fall-screen", 12.0, False),
        ("fall-screen", 11.99, True),
    ],
)
def test_five_stands_at_the_very_figure(line_id: str, value: float, good: bool) -> None:
    assert meets("five-chair-stands", line_id, value, 68) is good


@pytest.mark.parametrize(
    ("age", "limit"),
    [(18, None), (19, 12.39), (59, 12.39), (60, 11.4), (79, 12.6), (89, 14.8), (90, None)],
)
def test_five_stand_bands(age: int, limit: float | None) -> None:
    assert judging_limit("five-chair-stands", "time", age) == limit


def test_up_and_go_of_a_woman_of_74_in_10_4_s() -> None:
    assert not meets("timed-up-and-go", "average-for-age", 10.4, 74)
    assert meets("timed-up-and-go", "fall-screen", 10.4, 74)


@pytest.mark.parametrize(
    ("line_id", "value", "good"),
    [
        ("average-for-age", 10.2, True),
        ("average-for-age", 10.21, False),
        ("fall-screen", 12.0, False),
        ("fall-screen", 11.99, True),
        ("low-performance", 20.0, False),
        ("low-performance", 19.99, True),
    ],
)
def test_up_and_go_at_the_very_figure(line_id: str, value: float, good: bool) -> None:
    assert meets("timed-up-and-go", line_id, value, 74) is good


@pytest.mark.parametrize(("age", "limit"), [(59, None), (60, 9.0), (99, 12.7), (100, None)])
def test_up_and_go_has_no_line_outside_its_ages(age: int, limit: float | None) -> None:
    assert judging_limit("timed-up-and-go", "time", age) == limit


@pytest.mark.parametrize(
    ("value", "ten_seconds", "five_seconds"),
    [(4.8, False, False), (5.0, False, True), (9.99, False, True), (10.0, True, True)],
)
def test_one_leg_stance_of_a_man_of_74(value: float, ten_seconds: bool, five_seconds: bool) -> None:
    assert meets("single-leg-stance", "ten-seconds", value, 74, "male") is ten_seconds
    assert meets("single-leg-stance", "five-seconds-flag", value, 74, "male") is five_seconds


@pytest.mark.parametrize(
    ("age", "limit"),
    # 51-75: Araujo et al 2022. From 76: Vellas et al 1997. 18-50: common practice, no source.
    [(17, None), (18, 10), (50, 10), (51, 10), (75, 10), (76, 5), (100, 5)],
)
def test_one_leg_stance_bands(age: int, limit: float | None) -> None:
    assert judging_limit("single-leg-stance", "time", age) == limit


def test_the_five_second_flag_begins_with_those_older_than_sixty() -> None:
    # Vellas et al 1997: volunteers older than 60.
    assert line("single-leg-stance", "five-seconds-flag").limit_for(60, "female") is None
    assert line("single-leg-stance", "five-seconds-flag").limit_for(61, "female") == 5


@pytest.mark.parametrize(("value", "good"), [(9.9, False), (10.0, True)])
@pytest.mark.parametrize(("age", "line_id"), [(80, "ten-seconds"), (40, "ten-seconds-younger")])
def test_tandem_stance_is_short_below_ten_seconds(
    age: int, line_id: str, value: float, good: bool
) -> None:
    assert meets("tandem-stance", line_id, value, age) is good


def test_walking_4_m_in_4_6_s_is_below_one_metre_a_second_and_above_0_8() -> None:
    speed = 4 / 4.6
    assert not meets("walk-4m", "one-metre-per-second", speed, 74)
    assert meets("walk-4m", "low-performance-flag", speed, 74)


@pytest.mark.parametrize(
    ("line_id", "age", "value", "good"),
    [
        # "Below 1.0" is strict, "0.8 or slower" is not.
        ("one-metre-per-second", 74, 1.0, True),
        ("one-metre-per-second", 74, 0.999, False),
        ("low-performance-flag", 74, 0.8, False),
        ("low-performance-flag", 74, 0.801, True),
        ("low-performance", 85, 0.8, False),
        ("low-performance", 85, 0.801, True),
    ],
)
def test_walking_at_the_very_figure(line_id: str, age: int, value: float, good: bool) -> None:
    assert meets("walk-4m", line_id, value, age) is good


@pytest.mark.parametrize(
    ("age", "limit"), [(64, None), (65, 0.8), (69, 0.8), (70, 1.0), (79, 1.0), (80, 0.8)]
)
def test_walking_bands(age: int, limit: float | None) -> None:
    assert judging_limit("walk-4m", "speed", age) == limit


@pytest.mark.parametrize(
    ("deficit", "normal", "below_abnormal"),
    # Grades of the examination form, gaps between whole degrees closed: A below 3, B below 6.
    [(2.9, True, True), (3.0, False, True), (5.5, False, True), (6.0, False, False)],
)
def test_extension_deficit(deficit: float, normal: bool, below_abnormal: bool) -> None:
    assert meets("knee-extension", "deficit-normal", deficit, 50) is normal
    assert meets("knee-extension", "deficit-abnormal", deficit, 50) is below_abnormal


@pytest.mark.parametrize(("lag", "good"), [(4.0, True), (4.9, True), (5.0, False), (8.0, False)])
def test_extension_lag(lag: float, good: bool) -> None:
    # Curr Rev Musculoskelet Med 2017, 10:328-345, table 3: lag below 5 degrees.
    assert meets("knee-extension", "lag-before-loading", lag, 50) is good


def test_step_down_grades() -> None:
    # Piva et al 2006, BMC Musculoskelet Disord 7:33: 0-1 good, 2-3 medium, 4 and more poor.
    grades = {
        points: (
            meets("step-down", "good-quality", points, 30),
            meets("step-down", "poor-quality", points, 30),
        )
        for points in range(7)
    }
    good, medium, poor = (True, True), (False, True), (False, False)
    assert list(grades.values()) == [good, good, medium, medium, poor, poor, poor]


def test_step_down_points_sum_to_six_and_the_knee_counts_once() -> None:
    points = shipped().test("step-down").points
    assert points is not None
    assert sum(max(group.values()) for group in points.groups) == 6
    knee = next(group for group in points.groups if "knee-moves-in" in group)
    assert knee == {"knee-moves-in": 1, "knee-past-foot": 2}


def test_ten_raises_are_wanted_at_any_age() -> None:
    # Common practice, no source.
    assert limits("straight-leg-raise-hold", "ten-good-holds") == {("any", 5, 110): 10}


@pytest.mark.parametrize("test", ["stair-steps", "floor-rise", "quad-set"])
def test_a_test_without_an_agreed_norm_says_so_and_has_no_line(test: str) -> None:
    spec = shipped().test(test)
    assert not spec.lines
    assert spec.not_judged_because


def test_no_two_judging_bands_of_a_measure_hold_for_one_person() -> None:
    for spec in shipped().tests:
        for measure in spec.measures:
            for age in ANY_AGE:
                for sex in ("female", "male"):
                    holding = [
                        one.id
                        for one in spec.lines
                        if one.role == "judge" and one.measure == measure.id
                        if one.limit_for(age, sex) is not None
                    ]
                    assert len(holding) <= 1, (spec.id, age, sex, holding)
