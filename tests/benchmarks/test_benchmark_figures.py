"""What the benchmarks say of their figures; nothing is measured here."""

from __future__ import annotations

import json

import pytest
from benchmarks.figures import Figure, Figures, Plan, percentile
from benchmarks.table import as_json, as_table, exit_code

MET = Figure("a start", 1.25, goal=1.25)
MISSED = Figure("a key", 2.01, "ms", 2.0)
TOLD = Figure("a size", 1234.5, "MiB", note="for information")
UNKNOWN = Figure("a share", None, "%", 5.0, "needs /proc, so Linux only")


def found(*figures: Figure) -> dict[str, Figures]:
    return {"one": figures}


@pytest.mark.parametrize(
    ("figures", "code"),
    [((MET, TOLD), 0), ((MET, MISSED), 1), ((UNKNOWN,), 0)],
)
def test_only_a_missed_goal_fails(figures: tuple[Figure, ...], code: int) -> None:
    assert exit_code(found(*figures)) == code


def test_the_table_says_in_words_what_was_met() -> None:
    lines = as_table(found(MET, MISSED, TOLD, UNKNOWN)).splitlines()
    assert lines[1].split() == ["a", "start", "1.25", "<=", "1.25", "met"]
    assert lines[2].split() == ["a", "key", "2.01", "ms", "<=", "2.00", "ms", "MISSED"]
    assert "1234 MiB" in lines[3]
    assert lines[3].endswith("for information")
    assert "not measured" in lines[4]
    assert "MISSED" not in lines[4]


def test_json_holds_the_unrounded_values() -> None:
    whole = json.loads(as_json(found(MISSED, UNKNOWN), {"cores": 2}, quick=True))
    assert whole["machine"] == {"cores": 2}
    assert whole["quick"] is True
    assert [(f["measurement"], f["value"], f["met"]) for f in whole["figures"]] == [
        ("one", 2.01, False),
        ("one", None, None),
    ]


@pytest.mark.parametrize(
    ("per_cent", "value"), [(1, 1.0), (50, 50.0), (95, 95.0), (99, 99.0), (100, 100.0)]
)
def test_a_percentile_is_one_of_the_values(per_cent: float, value: float) -> None:
    assert percentile([float(n) for n in range(100, 0, -1)], per_cent) == value


def test_of_few_values_the_tail_is_the_largest() -> None:
    assert percentile([3.0, 1.0, 2.0], 99) == 3.0


@pytest.mark.parametrize(("values", "per_cent"), [([], 50), ([1.0], 0), ([1.0], 101)])
def test_no_percentile_of_nothing(values: list[float], per_cent: float) -> None:
    with pytest.raises(ValueError, match="no "):
        percentile(values, per_cent)


def test_quick_takes_fewer() -> None:
    assert (Plan().of(120, 20), Plan(quick=True).of(120, 20)) == (120, 20)
