"""The safety questions and stop rules, against the lists they were taken from."""

from __future__ import annotations

import pytest
from shipped_protocol import shipped
from support.small_protocol import session

from screen_tui.report.words import safety_answer


def text_of(caution_id: str) -> str:
    caution = shipped().caution(caution_id)
    parts = (caution.question, *caution.details, caution.means, caution.next_step)
    return " ".join(parts).lower()


@pytest.mark.parametrize(
    ("caution", "parts"),
    [
        # Stiell et al 1996, JAMA 275:611-615: the five items; above 5 years of age only.
        (
            "fracture-rule",
            (
                "age 55 or over",
                "head of the fibula",
                "patella and of no other bone",
                "90 degrees",
                "four steps",
                "implant",
                "deformity",
                "below 16",
                "four steps are still not possible",
                "x-ray",
            ),
        ),
        # Wells et al 2003, N Engl J Med 349:1227: nine items of one point, one of minus two.
        (
            "clot",
            (
                "cancer",
                "plaster",
                "3 days or more in bed",
                "12 weeks",
                "tender along the deep veins",
                "whole leg swollen",
                "3 cm or more",
                "pitting in this leg only",
                "not varicose",
                "thrombosis before",
                "minus 2",
                "two points and more: likely",
                "one and less: unlikely, which is not safe",
                "local policy",
                "emergency",
            ),
        ),
        # Common practice, no source; no fever in about half was read on one weak page.
        (
            "joint-infection",
            ("hot", "swollen", "no fever does not exclude it", "replaced knee", "same-day"),
        ),
        ("locked-knee", ("sudden", "springy", "slow", "do not stretch", "5 degrees")),
        (
            "extensor-mechanism",
            ("lying", "from bent", "gap above or below the kneecap", "urgent"),
        ),
        (
            "neurovascular",
            ("cold", "pulse", "dislocation", "tense", "saddle", "new loss of bladder control"),
        ),
        ("numb-foot", ("new numbness", "foot newly not be lifted", "numb in front")),
        (
            "night-pain-or-illness",
            ("night", "weight loss", "lump", "5 cm", "below 18", "look at the hip first"),
        ),
        ("heart-or-dizziness", ("chest pain", "breathlessness", "faint", "unstable angina")),
        (
            "heart-clearance",
            # Above 200 or 110: table 7 of a review in J Am Board Fam Med.
            ("heart attack", "200 systolic or 110", "pulse above 120", "from memory"),
        ),
    ],
)
def test_a_safety_question_has_all_its_parts(caution: str, parts: tuple[str, ...]) -> None:
    text = text_of(caution)
    assert [part for part in parts if part not in text] == []


def test_every_next_step_leaves_it_to_local_policy_and_none_names_a_diagnosis() -> None:
    for caution in shipped().cautions:
        assert "local policy" in caution.next_step
        assert caution.question.endswith("?")
        assert "diagnos" not in caution.means.lower()


@pytest.mark.parametrize(
    "reason",
    [
        # American Thoracic Society 2002 (walk test) and Am Fam Physician 2017, 96:293 (exercise
        # test), read in tables that quote them.
        "chest pain",
        "faintness or dizziness",
        "breathlessness",
        "colour",
        "sweat",
        "staggering",
        "cramp",
        "falls by more than 10 although effort rises",
        "250 systolic or 115 diastolic",
        "wants to stop",
        # Ageberg et al 2010, BMC Musculoskelet Disord 11:126.
        "above 5 of 10",
        # Common practice, no source.
        "near-fall",
        "gives way, locks or swells",
    ],
)
def test_a_test_is_stopped_at_once_for(reason: str) -> None:
    assert any(reason in rule.text.lower() for rule in shipped().stop_rules)


def test_every_loaded_test_speaks_of_orders_or_of_a_hand_that_is_ready() -> None:
    for spec in shipped().tests:
        safety = spec.instructions.safety.lower()
        assert "order" in safety or "surgeon" in safety, spec.id


def test_a_question_that_was_not_asked_is_not_denied() -> None:
    asked = session({"test": "any", "void": "struck"}, intake={"safety_asked": ["locked-knee"]})
    assert safety_answer(asked, "locked-knee") == "denied"
    assert safety_answer(asked, "bone-pain") == "not recorded"
    # Where nobody noted what was asked, all that there is was.
    unnoted = session({"test": "any", "void": "struck"})
    assert safety_answer(unnoted, "bone-pain") == "denied"
