"""What an invented patient says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

NO = (
    "No, nothing like that.",
    "No.",
    "Not at all.",
    "No, I would have noticed.",
    "Never.",
    "No, thank goodness.",
)
MORE = "Well, let me think."

SAYS: Mapping[str, Mapping[str, str]] = {
    "weight_bearing": {"full": "I may walk on it as I like."},
    "alone_at_home": {"True": "I live alone.", "False": "There is somebody at home."},
    "side": {"left": "The left one.", "right": "The right one."},
    "complaints": {
        "pain": "It hurts.",
        "giving-way": "It buckles under me.",
        "weakness": "It has no strength.",
        "stiffness": "It is stiff.",
    },
    "goals": {
        "walking": "I want to walk as I used to.",
        "chair": "I want to get out of a chair as others do.",
        "floor": "I want to get down to the floor and up again.",
        "stairs": "I want to take the stairs without thinking of it.",
    },
    "pain-site": {
        "front": "Here, around the kneecap.",
        "inner": "On the inner side.",
        "outer": "On the outer side.",
        "back": "At the back, in the hollow.",
        "all-over": "Everywhere, I cannot point to it.",
    },
    "onset": {
        "sudden": "From one day to the next.",
        "twist-or-blow": "I twisted it, that was in spring.",
        "more-load": "When I began to do more.",
        "slow": "It crept up on me.",
    },
    "worse-with": {
        "stairs-down": "Going down the stairs.",
        "stairs-up": "Going up the stairs.",
        "rising": "Getting out of a chair.",
        "squatting": "Going down on my haunches.",
        "kneeling": "Kneeling.",
        "long-sitting": "A long film.",
        "walking": "Walking.",
        "running": "Running.",
        "one-leg": "When I am on that leg alone.",
    },
    "morning-stiffness": {
        "none": "The mornings are fine.",
        "under-30-min": "It takes me ten minutes to get going.",
        "30-min-or-more": "It takes an hour until it moves.",
    },
    "swelling": {
        "none": "It has never been thick.",
        "comes-and-goes": "Some evenings it is thick.",
    },
    "giving-way": {
        "none": "It holds.",
        "with-pain": "It buckles when it hurts.",
        "without-pain": "It buckles, and it does not even hurt.",
    },
    "falls": {"none": "I have not fallen.", "one": "Once, in winter."},
    "load-change": {
        "none": "I do what I always do.",
        "up": "I do more than I used to.",
        "down": "I do a lot less than I used to.",
    },
    "earlier-injury": {
        "none": "Nothing before this.",
        "ankle-sprain": "I rolled that ankle, more than once.",
        "hip-problem": "That hip has been looked at.",
    },
    "activity": {
        "sits": "I sit most of the day.",
        "physical-work": "I am on my feet and I carry things.",
        "running-or-jumping": "I run three times a week.",
        "other": "A bit of everything.",
    },
}
"""By question and answer; an answer that is not here is never drawn."""


class Alarm(NamedTuple):
    """A safety question that is a yes.

    ``history`` has the answers that go with it, each with its words, by question.
    """

    says: str
    more: str
    history: Mapping[str, tuple[str, str]] = {}


ALARMS: Mapping[str, Alarm] = {
    "heart-or-dizziness": Alarm(
        "I get out of breath these days.",
        "On the way up here there was a pressure on my chest, and it has not quite gone.",
    ),
    "clot": Alarm(
        "The calf has been tight since Sunday.",
        "It is thicker than the other one, and it hurts when you press on it.",
    ),
    "joint-infection": Alarm(
        "It is not as it was a week ago.",
        "Since Friday it is hot and thick, it hurts however I move it, and last night I shivered.",
        {
            "onset": ("sudden", "From one day to the next, on Friday."),
            "swelling": ("comes-and-goes", "It came and went before; now it stays."),
        },
    ),
    "fracture-rule": Alarm(
        "I came off a ladder the day before yesterday.",
        "I could not take four steps after it, and I cannot now.",
        {
            "onset": ("twist-or-blow", "I came down on it, off the ladder."),
            "falls": ("one", "Off the ladder, the day before yesterday."),
        },
    ),
    "locked-knee": Alarm(
        "It does not come straight since Tuesday.",
        "I turned on it, it stuck, and when I push it down it springs back.",
        {"onset": ("sudden", "In one moment, on Tuesday.")},
    ),
    "extensor-mechanism": Alarm(
        "The leg is no good since Monday.",
        "There was a snap at the kneecap, and I cannot lift the leg straight since.",
        {
            "onset": ("sudden", "On a step, on Monday."),
            "giving-way": ("without-pain", "It buckles at every step since Monday."),
        },
    ),
    "night-pain-or-illness": Alarm(
        "I do not sleep well.",
        "It wakes me every night, however I lie, and I have lost eight kilos without trying.",
        {"onset": ("slow", "It crept up on me, over two months.")},
    ),
}
"""By the id of the safety question."""


class Operation(NamedTuple):
    """An operation in the last weeks; ``history`` as for an `Alarm`."""

    kind: str
    story: str
    says: str
    ages: tuple[int, int]
    history: Mapping[str, tuple[str, str]]


_LESS = ("down", "Since the operation I do a lot less.")
OPERATIONS = (
    Operation(
        "replacement",
        "got a new joint in this knee",
        "A whole new joint.",
        (58, 82),
        {"onset": ("slow", "It wore out over the years."), "load-change": _LESS},
    ),
    Operation(
        "ligament",
        "had the front ligament of this knee replaced",
        "The front ligament is new.",
        (18, 42),
        {"onset": ("twist-or-blow", "I twisted it, and it tore."), "load-change": _LESS},
    ),
)

COMES = {
    "sits": "who sits most of the day",
    "physical-work": "who works with the hands",
    "running-or-jumping": "who runs",
    "other": "with a garden and a dog",
}
WISHES = {
    "walking": "wants to walk without thinking of it",
    "chair": "wants to rise from the table as others do",
    "floor": "wants to get down to the floor and up again",
    "stairs": "has to take stairs every day",
}
