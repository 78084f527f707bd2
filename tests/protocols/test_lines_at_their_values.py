"""At which value each line fires: strict or not, by age on the day, and nothing beyond its ages.

The sources of the figures stand in ``test_published_figures.py``.
"""

from __future__ import annotations

from itertools import pairwise

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


@pytest.mark.parametrize("age", [17, 95, 100])
@pytest.mark.parametrize("sex", ["female", "male"])
def test_thirty_second_stand_has_no_line_outside_its_ages(age: int, sex: str) -> None:
    assert judging_limit("chair-stands-30s", "stands", age, sex) is None


def test_a_line_by_sex_has_none_for_an_unspecified_sex() -> None:
    assert judging_limit("chair-stands-30s", "stands", 72, "unspecified") is None


def test_five_stands_of_a_man_of_68_in_13_2_s() -> None:
    # Quicker than one in five of his age, yet on the bad side of the fall screen.
    assert meets("five-chair-stands", "slowest-fifth", 13.2, 68, "male")
    assert not meets("five-chair-stands", "fall-screen", 13.2, 68, "male")
    assert meets("five-chair-stands", "low-strength", 13.2, 68, "male")


@pytest.mark.parametrize(
    ("line_id", "value", "good"),
    [
        # The percentile itself and "more than 15" leave the figure good; "12 or more" not.
        ("slowest-fifth", 16.7, True),
        ("slowest-fifth", 16.71, False),
        ("slowest-twentieth", 20.4, True),
        ("slowest-twentieth", 20.41, False),
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
    # Women. 45-85: Mayhew et al 2023. 19-44: Klukowska et al 2021. From 86: the consensus of 2019.
    [
        (18, None),
        (19, 12.39),
        (44, 12.39),
        (45, 14.0),
        (47, 14.0),
        (48, 14.5),
        (85, 18.5),
        (86, 15),
    ],
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


@pytest.mark.parametrize(
    ("age", "limit"),
    # 18-59: clinical judgement. Above the table of means the consensus of 2019 judges.
    [(17, None), (18, 12), (59, 12), (60, 9.0), (99, 12.7), (100, 20)],
)
def test_up_and_go_bands(age: int, limit: float | None) -> None:
    assert judging_limit("timed-up-and-go", "time", age) == limit


@pytest.mark.parametrize(
    ("value", "ten_seconds", "five_seconds"),
    [(4.8, False, False), (5.0, False, True), (9.99, False, True), (10.0, True, True)],
)
def test_one_leg_stance_of_a_man_of_74(value: float, ten_seconds: bool, five_seconds: bool) -> None:
    assert meets("single-leg-stance", "ten-seconds-warning", value, 74, "male") is ten_seconds
    assert meets("single-leg-stance", "five-seconds", value, 74, "male") is five_seconds


@pytest.mark.parametrize(
    ("age", "limit"),
    # 51-65: Araujo et al 2022. From 66: Vellas et al 1997. 18-50: common practice, no source.
    [(17, None), (18, 10), (50, 10), (51, 10), (65, 10), (66, 5), (100, 5)],
)
def test_one_leg_stance_bands(age: int, limit: float | None) -> None:
    assert judging_limit("single-leg-stance", "time", age) == limit


def test_the_warnings_of_one_leg_stance_keep_to_the_ages_of_their_samples() -> None:
    # Vellas et al 1997: volunteers older than 60; from 66 on it judges. Araujo et al 2022: to 75.
    five = line("single-leg-stance", "five-seconds-warning")
    ten = line("single-leg-stance", "ten-seconds-warning")
    assert [five.limit_for(age, "female") for age in (60, 61, 65, 66)] == [None, 5, 5, None]
    assert [ten.limit_for(age, "female") for age in (65, 66, 75, 76)] == [None, 10, 10, None]


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
    ("age", "limit"),
    [(20, None), (21, 0.97), (59, 0.97), (64, None), (65, 0.8), (69, 0.8), (70, 1.0), (80, 0.8)],
)
def test_walking_bands(age: int, limit: float | None) -> None:
    assert judging_limit("walk-4m", "speed", age) == limit


@pytest.mark.parametrize(
    ("deficit", "under_three", "under_six"),
    [(2.9, True, True), (3.0, False, True), (5.5, False, True), (6.0, False, False)],
)
def test_extension_deficit(deficit: float, under_three: bool, under_six: bool) -> None:
    assert meets("knee-extension", "deficit-under-3", deficit, 50) is under_three
    assert meets("knee-extension", "deficit-from-6", deficit, 50) is under_six


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


def test_no_two_judging_bands_of_a_measure_hold_for_one_person_set_up_alike() -> None:
    for spec in shipped().tests:
        for measure in spec.measures:
            for age in ANY_AGE:
                for sex in ("female", "male"):
                    holding = [
                        one
                        for one in spec.lines
                        if one.role == "judge" and one.measure == measure.id
                        if one.limit_for(age, sex) is not None
                    ]
                    # The first asks for more of the set-up; a later one holds where it does not.
                    asked = [set(one.only_when) for one in holding]
                    assert all(b < a for a, b in pairwise(asked)), (spec.id, age, sex)
