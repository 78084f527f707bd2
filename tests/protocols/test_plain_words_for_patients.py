"""What a patient reads at home: plain, short, without a diagnosis, and what the file says.

No reading of these texts by patients stands behind them; the measures here are rough guards.
"""

from __future__ import annotations

import re

import pytest
from shipped_protocol import shipped
from support.plain_words import (
    HIGHEST_GRADE,
    JARGON,
    MOST_WORDS,
    jargon_in,
    reading_grade,
    sentences_of,
    words_of,
)

from screen_tui.protocol.knowledge import Exercise, ForPatient
from screen_tui.report import patient_words

NUMBERS = {"one": "1", "two": "2", "three": "3", "five": "5"}
OFTEN = ("every other day", "most days", "once a day", "twice a day", "times a day")
EXERCISES = {one.id: one for one in shipped().exercises}


def plain(exercise: Exercise) -> ForPatient:
    assert exercise.for_patient is not None, f"{exercise.id} has no words for the patient"
    return exercise.for_patient


def all_of(words: ForPatient) -> str:
    """Everything a patient reads of an exercise, each part ended as a sentence."""
    parts = (words.name, words.position, *words.how, words.full_dose, words.feel, words.stop)
    return " ".join(part if part.endswith(".") else f"{part}." for part in parts)


def own_texts() -> dict[str, str]:
    """What the sheet says of itself, and what the safety file says to a patient."""
    found = {}
    for name, value in vars(patient_words).items():
        if name.strip("_").isupper() and name != "_MONTHS" and not isinstance(value, int):
            texts = value.values() if isinstance(value, dict) else value
            joined = texts if isinstance(texts, str) else " ".join(text for text in texts if text)
            found[name] = joined.replace(":", ".") if isinstance(value, dict) else joined
    found |= {f"caution {one.id}": one.for_patient or "" for one in shipped().cautions}
    found |= {f"call {one.text}": one.text for one in shipped().call_rules}
    return found


@pytest.mark.parametrize("exercise", EXERCISES)
def test_every_exercise_has_short_plain_words_without_a_term_of_the_trade(exercise: str) -> None:
    text = all_of(plain(EXERCISES[exercise]))
    assert jargon_in(text) == []
    assert [one for one in sentences_of(text) if len(words_of(one)) > MOST_WORDS] == []
    assert reading_grade(text) <= HIGHEST_GRADE


@pytest.mark.parametrize("name", own_texts())
def test_what_else_a_patient_reads_is_as_plain(name: str) -> None:
    text = own_texts()[name]
    assert text
    if name != "NOT_A_DIAGNOSIS":
        assert jargon_in(text) == []
    assert [one for one in sentences_of(text) if len(words_of(one)) > MOST_WORDS] == []


def test_the_guards_themselves_catch_what_they_are_for() -> None:
    assert jargon_in("Isometric contraction of the quadriceps.") == ["contract", "isometr", "quad"]
    assert "weak" in JARGON
    clinical = EXERCISES["straight-leg-raise"]
    assert reading_grade(clinical.stop + " " + clinical.progress_when) > HIGHEST_GRADE


@pytest.mark.parametrize("exercise", EXERCISES)
def test_the_dose_is_the_dose_of_the_clinician(exercise: str) -> None:
    clinical, patient = EXERCISES[exercise].full_dose, plain(EXERCISES[exercise]).full_dose
    spelled = rf"\b({'|'.join(NUMBERS)})(?= (?:minute|second|step))"
    read = re.sub(spelled, lambda found: NUMBERS[found.group()], clinical.lower())
    assert set(re.findall(r"\d+", read)) <= set(re.findall(r"\d+", patient))
    assert [one for one in OFTEN if (one in clinical) != (one in patient.lower())] == []


@pytest.mark.parametrize("exercise", EXERCISES)
def test_the_stop_rule_loses_nothing_that_keeps_a_patient_safe(exercise: str) -> None:
    # What holds in every exercise the sheet says once, above them.
    clinical, always = EXERCISES[exercise].stop.lower(), " ".join(patient_words.ALWAYS).lower()
    patient = f"{plain(EXERCISES[exercise]).stop.lower()} {always}"
    for said, in_plain_words in {
        "brace": "brace",
        "motion limits": "limits",
        "dizziness": "dizzy",
        "chest pain": "chest",
        "near-fall": "nearly fall",
        "back pain": "back hurts",
        "gives way": "gives way",
        "swelling next morning": "swollen the next morning",
        "cannot talk": "cannot talk",
        "limping": "limp",
        "weight-bearing": "weight on the leg",
    }.items():
        assert said not in clinical or in_plain_words in patient, said
    above = "above 5 of 10"
    assert above not in clinical or above in plain(EXERCISES[exercise]).stop.lower()


def test_every_way_to_a_doctor_is_shown_with_its_urgency() -> None:
    for caution in shipped().cautions:
        told = (caution.for_patient or "").lower()
        assert ("emergency" in caution.next_step.lower()) == ("emergency number" in told)
        if "same-day" in caution.next_step.lower():
            assert "today" in told
        # What they are called would be a diagnosis.
        assert caution.name.lower() not in told


def test_there_are_reasons_to_call_of_each_urgency() -> None:
    urgencies = [rule.urgency for rule in shipped().call_rules]
    assert set(urgencies) == {"emergency", "same-day", "clinic"}
