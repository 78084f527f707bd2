"""What other programs are given of an assessment."""

from __future__ import annotations

import json

from support.note_case import note_assessment, note_protocol, note_session, result

from screen_tui.report.machine import assessment_as_dict


def view(**more: object) -> dict[str, object]:
    """The view as a program gets it, through JSON and back."""
    data = assessment_as_dict(note_protocol(), note_session(), note_assessment(**more))
    return json.loads(json.dumps(data, allow_nan=False))  # type: ignore[no-any-return]


def test_it_has_the_agreed_keys() -> None:
    data = view()
    agreed = {"outcome", "headline", "results", "drivers", "next_tests", "plan", "cautions"}
    assert (
        agreed | {"schema_version", "remarks", "not_tested", "precautions", "outside"}
        <= data.keys()
    )
    assert data["schema_version"] == 2
    assert data["outcome"] == "likely"
    first = data["results"][0]
    assert {
        key: first[key]
        for key in ("test", "side", "measure", "value", "unit", "standing", "source")
    } == {
        "test": "stance",
        "side": "left",
        "measure": "value",
        "value": 6.2,
        "unit": "s",
        "standing": "short of the line",
        "source": "stance-study",
    }
    assert first["line"]["limit"] == 10.0
    assert set(data["plan"]) == {"start", "leave_out"}
    assert data["plan"]["start"][0]["exercise"] == "side-lift"
    assert data["not_tested"] == [{"test": "floor-rise", "side": None, "reason": "not safe today"}]


def test_a_driver_shows_what_speaks_for_and_against_it_and_what_it_rests_on() -> None:
    driver = view()["drivers"][0]
    assert (driver["driver"], driver["side"], driver["standing"]) == (
        "hip-control",
        "left",
        "likely",
    )
    assert (driver["chance"], driver["before"]) == (0.87, 0.2)
    assert [entry["factor"] for entry in driver["for"]] == [6.0, 3.2, 2.4, 1.9, 1.1]
    assert [entry["weight"] for entry in driver["for"]] == [1.0, 1.0, 0.6, 1.0, 1.0]
    assert driver["for"][0]["what"] == "pelvis-drops"
    (against,) = driver["against"]
    assert (against["words"], against["there"], against["factor"]) == (
        "trunk leans not seen",
        False,
        0.7,
    )
    assert driver["rests_on"] == ["stance", "step-down"]
    assert driver["without"] == {"stance": 0.48, "step-down": 0.62}


def test_a_test_to_do_next_says_what_it_tells_apart_and_how_much() -> None:
    assert view()["next_tests"] == [
        {
            "test": "step-down",
            "side": "left",
            "cue": "pelvis-level",
            "without": None,
            "minutes": 0.5,
            "between": [
                {"driver": "hip-control", "side": "left"},
                {"driver": "foot-ankle-control", "side": "left"},
            ],
            "expected_bits": 0.21,
            "per_minute": 0.42,
        }
    ]


def test_values_are_rounded_as_their_measure_is_recorded() -> None:
    counted = result(value=11.6, decimals=0, unit="repetitions", trials=(11.6,))
    held = result(value=6.249, trials=(6.249, -0.04))
    first, second = view(results=(counted, held))["results"]
    assert (first["value"], first["trials"]) == (12, [12])
    assert isinstance(first["value"], int)
    assert (second["value"], second["trials"]) == (6.2, [6.2, 0.0])
    assert "-0.0" not in json.dumps(second)


def test_what_was_not_measured_is_null_and_says_why() -> None:
    missing = result(
        value=None, standing="not judged", why_not="pain limited every trial", line=None, trials=()
    )
    entry = view(results=(missing,))["results"][0]
    assert entry["value"] is None
    assert entry["line"] is None
    assert entry["source"] is None
    assert entry["why_not"] == "pain limited every trial"


def test_the_label_of_the_person_is_left_out() -> None:
    assert "K-014" not in json.dumps(view())
