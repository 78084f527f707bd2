"""One list of the facts of a session, and of who must write each of them.

A fact that one writer has and another should have is in both: the pages, the note, the sheet as
text and as a page to print, JSON, the table and FHIR.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from html import unescape
from typing import Any

import pytest
from support.every_session import SESSION_FILES, judged

from screen_tui.engine.assess import assess
from screen_tui.engine.observe import observe
from screen_tui.engine.plan import OWN
from screen_tui.engine.results import Assessment, Finding, Result, Start, rounded
from screen_tui.files.places import demo_folder
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.answer import (
    VERDICTS,
    answer_document,
    details_document,
    drivers_in_full,
    result_words,
    telling,
)
from screen_tui.report.document import Document
from screen_tui.report.facts import not_done_facts
from screen_tui.report.fhir.bundle import screen_bundle
from screen_tui.report.html import write_html
from screen_tui.report.layout import Layout, write_text
from screen_tui.report.machine import assessment_as_dict
from screen_tui.report.note import MOST_LINES, write_note
from screen_tui.report.patient_sheet import sheet_document
from screen_tui.report.plan import plan_document
from screen_tui.report.table import session_rows, write_table
from screen_tui.session.file import load_session
from screen_tui.session.model import PlanEdit, Session

WRITTEN = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
DEMOS = sorted(path.stem for path in demo_folder().glob("*.toml"))
LATER = sorted(path.stem for path in (demo_folder() / "visits").glob("*.toml"))

Judged = tuple[ScreenProtocol, Session, Assessment]
Facts = Iterator[tuple[Mapping[str, str], str]]
"""What must be in the text of each writer, and what the fact is about."""

PAPERS = ("note", "full")
SHEETS = ("sheet", "html")


def flat(text: str) -> str:
    """On one line, without the numbers that sources have in the appendix."""
    return " ".join(re.sub(r" \[\d+[^\]]*\]", "", text).split())


def page(document: Document) -> str:
    return write_text(document, Layout(1000))


def pages(one: Judged) -> dict[str, str]:
    """What the screen shows, and the note with its appendix."""
    return {
        "answer": page(answer_document(*one)),
        "details": page(details_document(*one)),
        "plan": page(plan_document(*one)),
        "full": write_note(*one, WRITTEN, full=True, width=1000),
    }


def everything(one: Judged) -> dict[str, str]:
    """What each writer makes of a session; of data, a line for each thing that is in it."""
    sheet = sheet_document(*one)
    data = assessment_as_dict(*one)
    rows = list(csv.DictReader(io.StringIO(write_table(session_rows(*one)))))
    made = [entry["resource"] for entry in screen_bundle(*one)["entry"]]
    return {
        **pages(one),
        "note": write_note(*one, WRITTEN),
        "sheet": page(sheet),
        "html": unescape(re.sub(r"<[^>]*>", " ", write_html(sheet).split("<body>")[1])),
        "json": "\n".join([*in_json(data), *strings(data)]),
        "csv": "\n".join([*in_rows(rows), *strings(rows)]),
        "fhir": "\n".join([*in_bundle(made), *strings(made)]),
    }


def strings(data: Any) -> Iterator[str]:
    """Every text in data."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict | list):
        for one in data.values() if isinstance(data, dict) else data:
            yield from strings(one)


def number_line(test: str, side: str | None, measure: str, value: object) -> str:
    return f"<{test} {side or 'both'} {measure} = {value}>"


def in_json(data: Mapping[str, Any]) -> Iterator[str]:
    yield f"<outcome {data['outcome']}>"
    for one in data["leading"]:
        yield f"<leading {one['driver']} {one['side']}>"
    for one in data["results"]:
        yield number_line(one["test"], one["side"], one["measure"], one["value"])
        yield f"<{one['test']} {one['side']} {one['measure']} {one['standing']}>"
    for one in data["not_tested"]:
        yield f"<left out {one['test']} {one['side']}: {one['reason']}>"
    for place, one in enumerate(data["plan"]["start"], start=1):
        yield f"<{place}. {one['name']} {one['side']}: {one['dose']}>"
    for one in data["cautions"]:
        yield f"<{one['id']} {one['urgency']}>"


def in_rows(rows: list[dict[str, str]]) -> Iterator[str]:
    for one in rows:
        yield f"<outcome {one['outcome']}> <leading {one['leading']}>"
        place = one["test"], one["side"], one["measure"]
        yield number_line(*place, one["value"] or None)
        yield f"<{' '.join(place)} {one['standing']}>"
        yield f"<left out {one['test']} {one['side']}: {one['why_not']}>"
        yield f"<{one['test']} {one['side']} {one['signs']} pain {one['pain_max']}>"


def in_bundle(made: list[dict[str, Any]]) -> Iterator[str]:
    """Each observation by our own code, its leg and its value."""
    for one in made:
        codes = [code["code"] for code in one.get("code", {}).get("coding", ())]
        leg = one.get("bodySite", {}).get("text", "both")
        value = one.get("valueQuantity", {}).get("value")
        yield f"<{' '.join(codes)} {leg} = {value}>"
        for part in one.get("component", ()):
            yield f"<{' '.join(codes)} {leg} {part['code']['coding'][-1]['code']}>"


def of_answer(one: Judged) -> Facts:
    """The verdict, who it names, and what may never be missed."""
    protocol, _, assessment = one
    verdict, outcome = VERDICTS[assessment.outcome], assessment.outcome
    said = dict.fromkeys(("answer", *PAPERS), verdict)
    coded = dict.fromkeys(("json", "csv"), f"<outcome {outcome}>")
    yield said | coded | {"fhir": f"outcome/{outcome}"}, "verdict"
    for driver in assessment.leading:
        name = words.driver_on(protocol, driver.driver, driver.side)
        leg = f" {driver.side}" if driver.side else ""
        yield (
            dict.fromkeys(("answer", "details", *PAPERS), name)
            | {"json": f"<leading {driver.driver} {driver.side}>", "csv": f"{driver.driver}{leg}"}
            | {"fhir": f"Suggested driver, {driver.standing}: {name.partition(',')[0]}"},
            "driver",
        )
    for caution in assessment.cautions:
        raised = dict.fromkeys(("answer", "plan", *PAPERS, "json", "fhir"), caution.name)
        plain = protocol.caution(caution.id).for_patient
        steps = dict.fromkeys(("answer", "plan", *PAPERS, "fhir"), words.caution_step(caution))
        coded = {"json": f"<{caution.id} {caution.urgency}>", "csv": caution.id}
        yield raised | coded, "caution"
        yield steps | ({} if caution.ask else dict.fromkeys(SHEETS, plain)), "next step"
        yield dict.fromkeys(("answer", "full", "json", "fhir"), caution.means), "what a yes means"
        urgency = dict.fromkeys(("answer", "plan", *PAPERS, "fhir"), words.how_soon(caution))
        yield urgency, "urgency"
    for raised_one in assessment.precautions:
        yield dict.fromkeys(("plan", "full", "json", "fhir"), raised_one.words), "precaution"
        brief = next(rule for rule in protocol.precautions if rule.id == raised_one.id)
        yield dict.fromkeys(("answer", *PAPERS), brief.words), "precaution in short"
        yield dict.fromkeys(SHEETS, brief.for_patient), "precaution for the patient"


def of_reasons(one: Judged) -> Facts:
    """Each driver in full with what speaks for and against it, and what each result is held to."""
    protocol, _, assessment = one
    for driver in drivers_in_full(assessment):
        known = protocol.driver(driver.driver)
        yield dict.fromkeys(("details", "full"), known.meaning), "meaning"
        for found in telling((*driver.speaks_for, *driver.speaks_against)):
            told = f"{found.words} ({words.strength_words(found)})"
            raising = {"fhir": told} if is_for(assessment, found) else {}
            both = dict.fromkeys(("details", "full"), told)
            yield both | {"json": found.words} | raising, "finding"
        if driver in assessment.leading:
            yield dict.fromkeys(("plan", "full"), known.retest or ""), "what to test again"
    for result in assessment.results:
        for line in (*([result.line] if result.line else []), *result.flags):
            held = dict.fromkeys(("details", "full", "json", "fhir"), line.population)
            yield held | {"fhir": f"{line.meaning}; {line.population}"}, "cut-off"
    for remark in assessment.remarks:
        yield dict.fromkeys(("details", "full", "json", "fhir"), remark), "remark"


def is_for(assessment: Assessment, found: Finding) -> bool:
    return any(found in driver.speaks_for for driver in assessment.leading)


def of_numbers(one: Judged) -> Facts:
    """Each result with its value, and each sign that was seen."""
    protocol, session, assessment = one
    judged_at = {(r.test, r.side) for r in assessment.results if r.standing != "not judged"}
    for result in assessment.results:
        spec = protocol.test(result.test)
        value = rounded(result.value, result.decimals)
        place = result.test, result.side, result.measure
        line = number_line(*place, value)
        leg = f"{result.side.capitalize()} leg" if result.side else "both"
        texts = dict.fromkeys(("details", "full"), result_words(result))
        first = next(r for r in assessment.results if (r.test, r.side) == place[:2])
        if value is not None and (
            result.standing != "not judged" or (place[:2] not in judged_at and result is first)
        ):
            texts["note"] = in_table(result)
        data = {"json": line, "csv": line, "fhir": f"{spec.id}/{result.measure} {leg} = {value}"}
        yield texts | data, "result"
        yield (
            {
                "json": f"<{result.test} {result.side} {result.measure} {result.standing}>",
                "csv": f"<{result.test} {result.side or 'both'} {result.measure} "
                f"{result.standing}>",
            },
            "standing",
        )
    for (test, side), seen in observe(protocol, session).items():
        for sign in seen.signs:
            leg = f"{side.capitalize()} leg" if side else "both"
            told = "used" if sign == "hands-used" else words.sign_words(protocol, sign)
            yield (
                {"full": told, "csv": sign, "fhir": f"<{test}/signs {leg} sign/{sign}>"},
                "sign",
            )


def in_table(result: Result) -> str:
    return result.in_words or words.number(result.value or 0.0, result.decimals)


def of_plan(one: Judged) -> Facts:
    """Each exercise with its dose, what is left out, and what was not done with the reason."""
    protocol, session, assessment = one
    for place, start in enumerate(assessment.plan.start, start=1):
        name = dict.fromkeys(("plan", *PAPERS, "json", "fhir"), start.name)
        yield name | of_patient(protocol, start) | {"csv": start.exercise or "own"}, "exercise"
        listed = f"<{place}. {start.name} {start.side}: {start.dose}>"
        yield {"json": listed, "fhir": words.with_dose(start)}, "exercise with its dose"
        if start.dose:
            yield dict.fromkeys(("plan", "full"), f"Dose: {start.dose}"), "dose"
        for more in (start.position, start.cue, start.feel, start.stop):
            yield dict.fromkeys(("plan", "full", "json"), more), "how it is done"
        for more in (start.progress_when, start.progress_to):
            yield dict.fromkeys(("plan", "full", "json"), more), "how it goes on"
    for left in assessment.plan.leave_out:
        texts = dict.fromkeys(("plan", "full"), f"{left.name}: {left.reason}")
        yield texts | {"json": left.reason, "fhir": left.name}, "left out"
    for test, side, reason in assessment.not_done:
        yield (
            dict.fromkeys(("details", "full"), reason)
            | {
                "json": f"<left out {test} {side}: {reason}>",
                "fhir": reason,
                "csv": f": {reason}>",
            },
            "not done",
        )
    for fact in not_done_facts(*one):
        yield dict.fromkeys(("details", "full"), f"{fact.label}: {fact.text}"), "why not done"
    if session.stopped:
        yield dict.fromkeys(("answer", *PAPERS, "csv"), session.stopped), "stopped"


def of_patient(protocol: ScreenProtocol, start: Start) -> dict[str, str]:
    """The exercise as the patient reads it, with the dose as the clinician set it."""
    if start.why == OWN:
        return dict.fromkeys(SHEETS, start.name)
    known = next(one for one in protocol.exercises if one.id == start.exercise)
    plain = known.for_patient
    assert plain is not None
    return dict.fromkeys(SHEETS, plain.name)


def missing(texts: Mapping[str, str], facts: Facts) -> list[str]:
    """What a writer should have and has not, of those that were asked."""
    flattened = {writer: flat(text).lower() for writer, text in texts.items()}
    return [
        f"{about}, {writer}: {text}"
        for fact, about in facts
        for writer, text in fact.items()
        if writer in flattened and flat(text).lower() not in flattened[writer]
    ]


def facts(one: Judged) -> Facts:
    for of in (of_answer, of_reasons, of_numbers, of_plan):
        yield from of(one)


def demo(name: str) -> Judged:
    if name not in LATER:
        return judged(name)
    protocol, _, _ = judged(DEMOS[0])
    session = load_session(demo_folder() / "visits" / f"{name}.toml")
    return protocol, session, assess(protocol, session)


@pytest.mark.parametrize("name", [*DEMOS, *LATER])
def test_each_writer_has_every_fact_it_should_have(name: str) -> None:
    one = demo(name)
    texts = everything(one)
    assert missing(texts, facts(one)) == []
    assert texts["note"].count("\n") <= MOST_LINES


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_pages_and_the_appendix_hold_every_fact(name: str) -> None:
    one = judged(name)
    assert missing(pages(one), facts(one)) == []


@pytest.mark.parametrize("name", DEMOS)
def test_an_edited_plan_is_in_each_writer(name: str) -> None:
    protocol, session, plain = judged(name)
    suggested = plain.plan.start
    edit = PlanEdit(
        drop=tuple(one.exercise for one in suggested[:1]),
        doses={one.exercise: "3 x 7, Mondays" for one in suggested[1:2]},
        order=tuple(one.exercise for one in reversed(suggested)),
        own=("Cycle 10 min.",),
        next_visit="25 March, 10:00",
    )
    session = session.model_copy(update={"plan": edit})
    one = protocol, session, assess(protocol, session)
    texts = everything(one)
    assert missing(texts, facts(one)) == []
    written = ("plan", *PAPERS, *SHEETS, "json", "fhir")
    # With a safety question answered yes there is no plan to add a line to.
    planned = written if plain.outcome != "refer-first" else ()
    own = (dict.fromkeys(planned, "Cycle 10 min."), "own line")
    dated = ("plan", *PAPERS, *SHEETS, "csv", "fhir")
    day = (dict.fromkeys(dated, "25 March, 10:00"), "next visit")
    dose = dict.fromkeys(written, "3 x 7, Mondays") if len(suggested) > 1 else {}
    assert missing(texts, iter([own, day, (dose, "dose")])) == []
    for dropped in suggested[:1]:
        assert [writer for writer in written if dropped.name in flat(texts[writer])] == []


def test_no_writer_is_without_facts() -> None:
    one = judged("runner-left-hip")
    nothing = dict.fromkeys(everything(one), "")
    lacking = {line.partition(":")[0].rpartition(", ")[2] for line in missing(nothing, facts(one))}
    assert lacking == set(nothing)
