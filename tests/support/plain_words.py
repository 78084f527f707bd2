"""How hard a text is to read, roughly, and the words of the trade it should do without."""

from __future__ import annotations

import re

MOST_WORDS = 20
"""In one sentence."""

HIGHEST_GRADE = 6.0
"""School years that a text may ask for; a 12-year-old is in the sixth or seventh."""

JARGON = (
    "abduct", "adduct", "active", "passive", "ankle control", "arthr", "assess", "atroph",
    "bilateral", "cap_s", "clot", "condition", "contract", "control", "decondition", "deficit",
    "diagnos", "distal", "driver", "effusion", "endurance", "extens", "extensor", "flex",
    "femor", "forefoot", "fracture", "function", "gait", "glute", "hinge", "hyperext",
    "hypertroph", "infect", "inflamm", "instab", "isometr", "joint infection", "lag", "lateral",
    "ligament", "load-bearing", "mechanism", "medial", "menisc", "mobili", "muscul", "neuro",
    "open chain", "palpat", "patell", "pelvis", "plantar", "position sense", "prone",
    "propriocep", "proximal", "quad", "range of motion", "rehab", "repetition", "resist",
    "rotat", "rom ", "shear", "stabili", "stance", "strateg", "strength", "supine", "symmetr",
    "symptom", "tandem", "tendon", "therapeutic", "tibia", "tolerat", "trunk", "unilateral",
    "valgus", "varus", "vastus", "weak", "weight-bearing", "thrombo", "torn", "tear",
)  # fmt: skip
"""Beginnings of words that a patient need not know, and those that would name a diagnosis."""


def sentences_of(text: str) -> list[str]:
    return [one for one in re.split(r"(?<=[.!?])\s+", text.strip()) if one]


def words_of(text: str) -> list[str]:
    return re.findall(r"[A-Za-z']+|[0-9]+", text)


def jargon_in(text: str) -> list[str]:
    """The words of the trade in a text; each counts where a word of it begins so."""
    low = text.lower()
    return [one for one in JARGON if re.search(rf"\b{re.escape(one)}", low)]


def reading_grade(text: str) -> float:
    """School years by the Flesch-Kincaid formula: 0.39 words a sentence, 11.8 syllables a word.

    Kincaid et al. 1975, Naval Technical Training Command report 8-75 (from memory). Syllables are
    counted as groups of vowels, which is rough.
    """
    sentences, words = sentences_of(text), words_of(text)
    syllables = sum(_syllables(word) for word in words)
    return 0.39 * len(words) / len(sentences) + 11.8 * syllables / len(words) - 15.59


def _syllables(word: str) -> int:
    low = word.lower()
    groups = len(re.findall(r"[aeiouy]+", low))
    silent = low.endswith("e") and not low.endswith(("le", "ee")) and groups > 1
    return max(1, groups - silent)
