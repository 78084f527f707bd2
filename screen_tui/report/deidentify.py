"""A session without what could name its person, for a note that is to leave the clinic.

What stays are choices and numbers. Whatever was typed in own words goes as a whole, since no rule
can tell which of them name somebody; a date becomes its year, and an age over 89 "90+", as the
safe-harbor rule of the United States has it (45 CFR 164.514(b)(2)).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Set
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.note import Head
from screen_tui.report.trials import TRUST
from screen_tui.report.words import how_long, joined
from screen_tui.session.model import Cleared, Intake, PlanEdit, Session, Trial

OLDEST = 89
"""The highest age in years that is given; higher ones are given together."""

OWN_WORDS = "reason in own words, left out"
LEFT_OUT = "left-out"

SAID = (
    "De-identified: patient code, session id, days and times, and all own words are left out; "
    "an age over 89 reads 90+."
)


@dataclass(frozen=True, slots=True)
class Deidentified:
    """What may be written of a session, and what was left out and in, for who asked for it.

    Attributes:
        session: The session without code, id, dates and own words. It holds the true age, which
            the engine needs and which is never to be shown.
        saved: The same as it was before its addenda; the plan is made of it.
        head: Who and when, as it may be shown.
    """

    session: Session
    saved: Session
    head: Head
    removed: tuple[str, ...]
    kept: tuple[str, ...]

    def to_show(self, session_id: str = LEFT_OUT, label: str = LEFT_OUT) -> Session:
        """The session as it may be exported; an age over 89 is 90, which then means 90 or more."""
        client = self.session.client
        age = min(client.age, OLDEST + 1)
        shown = client.model_copy(update={"label": label, "age": age})
        return self.session.model_copy(update={"id": session_id, "client": shown})

    def assessed(self, protocol: ScreenProtocol) -> Assessment:
        """What the session comes to, without an age over 89."""
        assessment, age = assess(protocol, self.session, self.saved), self.session.client.age
        if age <= OLDEST:
            return assessment
        own = re.compile(rf"\bage {age}\b")
        return replace(
            assessment,
            results=tuple(
                replace(result, why_not=own.sub(f"age {_age_words(age)}", result.why_not))
                for result in assessment.results
            ),
        )


def deidentified(session: Session, written: datetime, offered: Set[str]) -> Deidentified:
    """Leave out of a session what could name its person.

    What addenda corrected is in the trials; the addenda themselves go, words and dates. A reason
    or set-up that is none of the words the program offers is somebody's own.
    """
    before, session = session, session.as_amended
    own = _set_ups_in_own_words(session, offered)
    client, finished, edit = session.client, session.finished, session.plan
    shown = session.model_copy(
        update={
            "id": LEFT_OUT,
            "protocol_digest": "",
            "started": _year(session.started),
            "finished": None if finished is None else _year(finished),
            "stopped": _stopped(session.stopped, offered),
            "client": client.model_copy(update={"label": LEFT_OUT}),
            "intake": _intake(session.intake, offered),
            "follows": "",
            "trials": tuple(_trial(trial, offered, own) for trial in session.trials),
            # Doses, own lines and the day of the next visit are typed.
            "plan": edit and PlanEdit(drop=edit.drop, order=edit.order),
            "under_way": None,
            "set_up_said": {},
            "addenda": (),
            "skipped": tuple(
                skip.model_copy(update={"reason": _offered(skip.reason, offered)})
                for skip in session.skipped
            ),
        }
    )
    as_saved = tuple(_trial(trial, offered, own) for trial in before.trials)
    return Deidentified(
        session=shown,
        saved=shown.model_copy(update={"trials": as_saved}),
        head=Head(
            label="",
            age=_age_words(client.age),
            when=joined([f"{session.started.year}", how_long(session)]),
            written=f"{written.year}",
            session="",
            said=SAID,
        ),
        removed=tuple(_removed(session, offered, own, len(session.addenda))),
        kept=tuple(_kept(session)),
    )


def _age_words(age: int) -> str:
    return f"{age}" if age <= OLDEST else f"{OLDEST + 1}+"


def _trial(trial: Trial, offered: Set[str], own: Mapping[str, str]) -> Trial:
    return trial.model_copy(
        update={
            "ended": _offered(trial.ended, offered),
            "void": _offered(trial.void, offered),
            "correction": OWN_WORDS if trial.correction else "",
            "note": "",
            "recorded": None,
            "aid": own.get(trial.aid, trial.aid),
            "footwear": own.get(trial.footwear, trial.footwear),
            "trust": tuple(flag for flag in trial.trust if flag in TRUST),
        }
    )


def _intake(intake: Intake, offered: Set[str]) -> Intake:
    """That something was cleared stays; by whom, when and in which words does not."""
    return intake.model_copy(
        update={
            "note": "",
            "cleared": tuple(
                Cleared(caution=one.caution, by=LEFT_OUT, when=LEFT_OUT) for one in intake.cleared
            ),
            "history": {
                question: given
                for question, answers in intake.history.items()
                if question in offered and (given := tuple(a for a in answers if a in offered))
            },
        }
    )


def _stopped(words: str, offered: Set[str]) -> str:
    """The reason, or what of it the program offers: it may be what decides the answer."""
    text = _offered(words, offered)
    known = sorted(one for one in offered if re.search(rf"\b{re.escape(one)}\b", words, re.I))
    return f"{text} ({', '.join(known)})" if text != words and known else text


def _offered(words: str, offered: Set[str]) -> str:
    return words if not words or words in offered else OWN_WORDS


def _set_ups_in_own_words(session: Session, offered: Set[str]) -> Mapping[str, str]:
    """A name without meaning for each word on the set-up that nobody offers.

    Two words stay two, so that trials with two aids are still distinguished.
    """
    words = {word for trial in session.trials for word in (trial.aid, trial.footwear) if word}
    return {
        word: f"{LEFT_OUT}-{number}" for number, word in enumerate(sorted(words - offered), start=1)
    }


def _year(moment: datetime) -> datetime:
    return datetime(moment.year, 1, 1, tzinfo=UTC)


def _removed(
    session: Session, offered: Set[str], own: Mapping[str, str], addenda: int
) -> list[str]:
    """What was left out, in words that tell nothing of it."""
    reasons = [
        session.stopped,
        *(words for trial in session.trials for words in (trial.ended, trial.void)),
        *(skip.reason for skip in session.skipped),
    ]
    typed = sum(_offered(reason, offered) != reason for reason in reasons)
    notes = sum(bool(trial.note) for trial in session.trials) + bool(session.intake.note)
    flags = sum(flag not in TRUST for trial in session.trials for flag in trial.trust)
    edit = session.plan
    typed_plan = edit is not None and bool(edit.doses or edit.own or edit.next_visit)
    counted = (
        (notes, "note", "notes"),
        (len(session.intake.cleared), "clearance in own words", "clearances in own words"),
        (typed, "reason in own words", "reasons in own words"),
        (len(own) + flags, "unknown word", "unknown words"),
        (addenda, "addendum (what it corrects stays)", "addenda (what they correct stays)"),
    )
    return [
        "the patient code",
        "the session id",
        "days and times (the year stays)",
        *(["the age, written as 90+"] if session.client.age > OLDEST else []),
        *(f"{many} {one if many == 1 else more}" for many, one, more in counted if many),
        *(["words typed in the plan"] if typed_plan else []),
        *(["what changed since earlier visits"] if session.follows else []),
    ]


def _kept(session: Session) -> list[str]:
    client = session.client
    there = {
        "age": client.age <= OLDEST,
        "sex": True,
        "height": client.height_cm is not None,
        "mass": client.mass_kg is not None,
        "weeks since surgery": session.intake.recent_surgery_weeks is not None,
        "all results": True,
        "the protocol's id and texts": True,
    }
    return [what for what, is_there in there.items() if is_there]
