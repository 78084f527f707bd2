from pathlib import Path

import pytest

from screen_tui.errors import FileRefusedError
from screen_tui.protocol.loader import load_protocol


def problems_in(*folders: Path, battery: str = "small") -> list[tuple[str, int | None, str, str]]:
    with pytest.raises(FileRefusedError) as caught:
        load_protocol(folders, battery)
    return [(p.path.name, p.line, p.field, p.reason) for p in caught.value.problems]


# One mistake at a time: file, text to replace, replacement, a text on the line that is to be
# named, the field, and a piece of the reason.
ONE_LEG_FILE = "tests/one-leg.toml"
CALLED = (
    'only_if = {{ any_of = [{{ test = "{}", when = {{ {} }} }}], otherwise = "no", source = "{}" }}'
)
STOP = "[[stop_rules]]"
PRECAUTION = '[[precautions]]\nid = "fall"\nwords = "Careful"\nsource = "judgement"\n'
BECAUSE = '[[precautions.any_of]]\nbecause = "because"\n'
SEEN = BECAUSE + 'seen = [{{ test = "{}", when = {{ measure = "{}", at_most = 5 }} }}]\n' + STOP
MISTAKES = {
    "unknown field": (
        ONE_LEG_FILE, "trials = 3", "trials = 3\ntrails = 3", "trails", "trails", "spelling",
    ),
    "sign not in signs.toml": (
        ONE_LEG_FILE, 'signs = ["pelvis-drops", "unsteady"]',
        'signs = ["pelvis-drops", "unsteady", "pelvis-drop"]', "signs = [\"pelvis-drops\", ",
        "signs[2]", 'did you mean "pelvis-drops"?',
    ),
    "sign twice": (
        ONE_LEG_FILE, '"unsteady"]\n', '"unsteady", "unsteady"]\n', '"unsteady", "unsteady"]',
        "signs[2]", "twice",
    ),
    "unknown source deep in a test": (
        ONE_LEG_FILE, 'population = "Invented adults."\nsource = "memory"',
        'population = "Invented adults."\nsource = "memori"', '"memori"',
        "references[0].source", 'did you mean "memory"?',
    ),
    "judging line from memory": (
        ONE_LEG_FILE, 'than most."\npopulation = "Invented adults."\nsource = "book"',
        'than most."\npopulation = "Invented adults."\nsource = "memory" #',
        '"memory" #', "lines[0].source", "may not judge",
    ),
    "overlapping ages": (
        ONE_LEG_FILE, 'sex = "female", from_age = 60', 'sex = "female", from_age = 59',
        "from_age = 59", "lines[0].limits[1]", "age 59",
    ),
    "a row for everybody over a row for men": (
        ONE_LEG_FILE, 'mean = 40.0, sd = 5.0 }]',
        'mean = 40.0, sd = 5.0 },\n{ sex = "male", from_age = 30, to_age = 50, mean = 3 }]',
        "mean = 3 }", "references[0].rows[1]", "ages 30 to 39 (male)",
    ),
    "band that ends before it begins": (
        ONE_LEG_FILE, "from_age = 18, to_age = 59", "from_age = 18, to_age = 17",
        "to_age = 17", "lines[0].limits[0]", "before it begins",
    ),
    "line about no measure": (
        ONE_LEG_FILE, '"percentile"\nmeasure = "hold"', '"percentile"\nmeasure = "holds"',
        'measure = "holds"', "lines[0].measure", 'did you mean "hold"?',
    ),
    "line that does not say what it is": (
        ONE_LEG_FILE, 'kind = "percentile"', 'kind = "norm"', '"norm"', "lines[0].kind", "floor",
    ),
    "error without an age": (
        ONE_LEG_FILE, "from_age = 18\nto_age = 99\n", "to_age = 99\n", "[[errors]]",
        "errors[0].from_age", "missing",
    ),
    "steps of a line in a test without stairs": (
        ONE_LEG_FILE, 'role = "judge"', 'role = "judge"\nonly_steps = 9', "only_steps",
        "lines[0].only_steps", "stair steps",
    ),
    "driver of a cue, which nothing reads": (
        ONE_LEG_FILE, 'id = "pelvis-level"\nsay', 'id = "pelvis-level"\nfor_driver = "hips"\nsay',
        '"hips"', "cues[0].for_driver", "not a known field here",
    ),
    "sign with points": (
        ONE_LEG_FILE, "unsteady = 2 }", "\"trunk-leans\" = 2 }", "groups",
        "points.groups[0].trunk-leans", "no sign of this test",
    ),
    "points without a table of points": (
        ONE_LEG_FILE, '[points]\nsource = "book"\ngroups = [{ pelvis-drops = 1, unsteady = 2 }]',
        "", 'taken_from = "points"', "measures[1].taken_from", "[points]",
    ),
    "speed of a hold": (
        ONE_LEG_FILE, 'taken_from = "value"', 'taken_from = "speed"', "speed",
        "measures[0].taken_from", 'the timer is "hold", not "walk"',
    ),
    "time up of a hold": (
        ONE_LEG_FILE, 'taken_from = "value"', 'taken_from = "time-up"', "time-up",
        "measures[0].taken_from", 'not "steps"',
    ),
    "lag of a hold": (
        ONE_LEG_FILE, 'taken_from = "value"', 'taken_from = "lag"', '"lag"',
        "measures[0].taken_from", "no field passive_deg and no field active_deg",
    ),
    "value of a flight": (
        "tests/stairs.toml", 'taken_from = "time-up"', 'taken_from = "value"', '"value"',
        "measures[0].taken_from", "time-up and a time-down",
    ),
    "lag without the active angle": (
        "tests/extension.toml", 'id = "active_deg"', 'id = "value"', 'taken_from = "lag"',
        "measures[0].taken_from", "no field active_deg",
    ),
    "value of a measure that has no such field": (
        "tests/extension.toml", 'taken_from = "lag"', 'taken_from = "value"', '"value"',
        "measures[0].taken_from", "no field value",
    ),
    "measure twice": (
        ONE_LEG_FILE, 'id = "score"', 'id = "hold" #', 'id = "hold" #', "measures[1].id", "twice",
    ),
    "plausible range upside down": (
        ONE_LEG_FILE, "minimum = 0.0, maximum", "minimum = 50.0, maximum", "minimum = 50.0",
        "plausible.minimum", "above the maximum",
    ),
    "angle wider than a session can hold": (
        "tests/extension.toml", '"Active", minimum = -20', '"Active", minimum = -40',
        "minimum = -40", "timer.fields[1].minimum", "at least -30",
    ),
    "field of a measure twice": (
        "tests/extension.toml", 'id = "active_deg"', 'id = "passive_deg"', 'label = "Active"',
        "timer.fields[1].id", "twice",
    ),
    "file named otherwise": (
        "tests/stairs.toml", 'id = "stairs"', 'id = "steps"', 'id = "steps"', "id",
        "the file is named stairs.toml",
    ),
    "battery named otherwise": (
        "small.toml", 'id = "small"', 'id = "tiny"', 'id = "tiny"', "id",
        "the file is named small.toml",
    ),
    "unknown test in the battery": (
        "small.toml", 'test = "extension"', 'test = "extensions"', '"extensions"',
        "items[2].test", 'did you mean "extension"?',
    ),
    "test twice in the battery": (
        "small.toml", 'test = "extension"', 'test = "one-leg" #', 'test = "one-leg" #',
        "items[2].test", "twice",
    ),
    "test instead of one outside the battery": (
        "small.toml", 'goals = ["stairs"]', 'instead_of = ["one-legs"]', '"one-legs"',
        "items[1].instead_of[0]", 'did you mean "one-leg"?',
    ),
    "test instead of itself": (
        "small.toml", 'goals = ["stairs"]', 'instead_of = ["stairs"]', "instead_of",
        "items[1].instead_of[0]", "is the test itself",
    ),
    "result of a test outside the battery that calls for another": (
        "small.toml", 'goals = ["stairs"]',
        CALLED.format("one-legs", 'signs_any = ["unsteady"]', "book"),
        "only_if", "items[1].only_if.any_of[0].test", 'did you mean "one-leg"?',
    ),
    "result of a later test that calls for another": (
        "small.toml", 'goals = ["stairs"]',
        CALLED.format("extension", 'measure = "lag", at_most = 2', "book"),
        "only_if", "items[1].only_if.any_of[0].test", "must come before",
    ),
    "result that calls for a test and that there is not": (
        "small.toml", 'goals = ["stairs"]',
        CALLED.format("one-leg", 'measure = "up", at_most = 2', "book"), "only_if",
        "items[1].only_if.any_of[0].when.measure", "no measure of this test",
    ),
    "source of what calls for a test": (
        "small.toml", 'goals = ["stairs"]',
        CALLED.format("one-leg", 'measure = "hold", at_most = 2', "nobody"), "only_if",
        "items[1].only_if.source", '"nobody"',
    ),
    "gate about a test outside the battery": (
        "small.toml", 'withhold = "stairs"', 'withhold = "stair"', '"stair"', "gates[0].withhold",
        'did you mean "stairs"?',
    ),
    "gate after a later test": (
        "small.toml", 'withhold = "stairs"\nafter = "one-leg"\nwhen = { measure = "hold"',
        'withhold = "one-leg"\nafter = "stairs"\nwhen = { measure = "up"', 'after = "stairs"',
        "gates[0].after", "must come before",
    ),
    "gate about no measure": (
        "small.toml", 'measure = "hold"', 'measure = "up"', "when =", "gates[0].when.measure",
        "no measure of this test",
    ),
    "standing without a judging line": (
        "small.toml", 'measure = "hold", at_most = 2.0', 'measure = "score", standing = "meets"',
        "when =", "gates[0].when.standing", "never be known",
    ),
    "sign of a condition that the test does not watch": (
        "small.toml", 'measure = "hold", at_most = 2.0', 'signs_any = ["trunk-leans"]', "when =",
        "gates[0].when.signs_any[0]", "no sign of this test",
    ),
    "condition that is empty": (
        "small.toml", 'measure = "hold", at_most = 2.0', "", "when =", "gates[0].when",
        "always hold",
    ),
    "splits of a hold": (
        "small.toml", 'measure = "hold", at_most = 2.0', "slowing_percent = 20", "when =",
        "gates[0].when.slowing_percent", "split times",
    ),
    "condition that cannot hold": (
        "small.toml", 'measure = "hold", at_most = 2.0',
        'measure = "hold", at_least = 5, at_most = 4', "when =", "gates[0].when.at_least",
        "never hold",
    ),
    "source of a gate": (
        "small.toml", 'source = "judgement"', 'source = "nobody"', "nobody", "gates[0].source",
        "no source in sources.toml",
    ),
    "source of a question": (
        "safety.toml", 'next_step = "Send on today."\nsource = "judgement"',
        'next_step = "Send on today."\nsource = "nobody"', "nobody", "cautions[0].source",
        "no source in sources.toml",
    ),
    "source of a stop rule": (
        "safety.toml", 'text = "Chest pain."\nsource = "judgement"',
        'text = "Chest pain."\nsource = "nobody"', "nobody", "stop_rules[0].source",
        "no source in sources.toml",
    ),
    "no urgency": (
        "safety.toml", 'urgency = "today"\n', "", "[[cautions]]", "cautions[0].urgency", "missing",
    ),
    "urgency of another kind": (
        "safety.toml", 'urgency = "today"', 'urgency = "soon"', '"soon"', "cautions[0].urgency",
        "now",
    ),
    "test of a precaution": (
        "safety.toml", "[[stop_rules]]", PRECAUTION + SEEN.format("one-legg", "hold"), "one-legg",
        "precautions[0].any_of[0].seen[0].test", 'did you mean "one-leg"?',
    ),
    "measure of a precaution": (
        "safety.toml", "[[stop_rules]]", PRECAUTION + SEEN.format("one-leg", "holds"), "holds",
        "precautions[0].any_of[0].seen[0].when.measure", 'did you mean "hold"?',
    ),
    "a precaution that always applies": (
        "safety.toml", "[[stop_rules]]", PRECAUTION + BECAUSE + STOP, "any_of",
        "precautions[0].any_of[0]", "asks for nothing",
    ),
    "exercise that needs a helper": (
        "safety.toml", "[[stop_rules]]",
        PRECAUTION + 'needs_helper = ["side-step"]\n' + BECAUSE + "alone_at_home = true\n" + STOP,
        "needs_helper", "precautions[0].needs_helper[0]", 'did you mean "side-steps"?',
    ),
    "question that is contradicted": (
        "safety.toml", "[[stop_rules]]",
        '[[contradictions]]\nid = "again"\ncaution = "clod"\nask = "Ask."\nsource = "judgement"\n'
        '[[contradictions.any_of]]\nbecause = "old"\nfrom_age = 70\n' + STOP,
        "clod", "contradictions[0].caution", 'did you mean "clot"?',
    ),
    "test of a limit": (
        "safety.toml", "[[stop_rules]]",
        '[[limits]]\nid = "early"\nname = "Early"\nweeks_below = 6\ntests = ["stair"]\n'
        'reason = "Early."\nsource = "judgement"\n' + STOP,
        '"stair"', "limits[0].tests[0]", 'did you mean "stairs"?',
    ),
    "driver of an exercise": (
        "exercises.toml", 'name = "Side steps"\ndriver = "hip-control"',
        'name = "Side steps"\ndriver = "hop-control"', "hop", "exercises[0].driver",
        'did you mean "hip-control"?',
    ),
    "driver of what is left out": (
        "exercises.toml", 'when = "driver-spoken-against"\ndriver = "hip-control"\n',
        'when = "driver-spoken-against"\n', "[[leave_out]]", "leave_out[0].driver", "is missing",
    ),
    "sign id twice": (
        "signs.toml", 'id = "unsteady"', 'id = "pelvis-drops" #', "#", "signs[1].id", "twice",
    ),
    "published source without a journal": (
        "sources.toml", 'journal = "Invented Journal"', "", 'id = "book"', "sources[0]",
        "needs authors, year, and journal",
    ),
}  # fmt: skip

# A second sign of the same id hides "unsteady", for example, and what refers to that is told
# too: what follows from a mistake may come after it, but never before.
FOLLOWED_BY_OTHERS = {
    "sign id twice": {"signs[1]"},
    "field of a measure twice": {"measures[0].taken_from"},
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_refused_with_file_line_field_and_reason(protocol, mistake: str) -> None:
    name, old, new, on_line, field, words = MISTAKES[mistake]
    protocol.replace(name, old, new)
    found = problems_in(protocol.path)
    file, line, where, reason = found[0]
    expected_line = protocol.line(name, on_line)
    if mistake == "published source without a journal":
        expected_line -= 1  # the table begins on the line before its id
    assert (file, line, where) == (Path(name).name, expected_line, field)
    assert words in reason
    assert {problem[2] for problem in found[1:]} == FOLLOWED_BY_OTHERS.get(mistake, set())


def test_mistakes_in_several_files_are_shown_at_once(protocol) -> None:
    protocol.replace("tests/one-leg.toml", 'trait = "', 'trait = "A ')
    protocol.replace("small.toml", 'source = "judgement"', 'source = "nobody"')
    protocol.write("tests/broken.toml", "id = \n")
    protocol.replace("signs.toml", 'label = "unsteady"', "label = 5")
    assert {(file, line, field) for file, line, field, _ in problems_in(protocol.path)} == {
        ("one-leg.toml", protocol.line("tests/one-leg.toml", f"A {trait}"), field)
        for trait, field in (
            ("pelvis-control", "findings[0].trait"),
            ("steadiness", "findings[1].trait"),
            ("hold", "graded[0].trait"),
        )
    } | {
        ("small.toml", protocol.line("small.toml", "nobody"), "gates[0].source"),
        ("broken.toml", 1, ""),
        ("signs.toml", protocol.line("signs.toml", "label = 5"), "signs[1].label"),
    }


def test_more_drivers_than_can_be_weighed_are_refused_for_what_it_takes(protocol) -> None:
    text = (protocol.path / "drivers.toml").read_text(encoding="utf-8")
    prior = (protocol.path / "priors.toml").read_text(encoding="utf-8")

    def with_drivers(sided: int) -> None:
        names = [f"own-{number}" for number in range(1, sided)]
        own = [text.replace("hip-control", name) for name in names]
        protocol.write("drivers.toml", text + "".join(own))
        only = prior[: prior.index("[[odds]]")] if "[[odds]]" in prior else prior
        own = [only.replace("hip-control", name) for name in names]
        protocol.write("priors.toml", prior + "".join(own))

    with_drivers(7)  # each counts for both legs
    load_protocol([protocol.path], "small")
    with_drivers(8)
    ((file, _, field, reason),) = problems_in(protocol.path)
    assert (file, field) == ("drivers.toml", "drivers[7].id")
    assert "above 15 in all an answer takes too long" in reason


def test_two_signs_of_one_test_have_two_digits(protocol) -> None:
    protocol.replace("signs.toml", "digit = 6", "digit = 1")
    ((file, line, field, reason),) = problems_in(protocol.path)
    assert (file, field) == ("one-leg.toml", "signs[1]")
    assert line == protocol.line(ONE_LEG_FILE, "signs = [")
    assert '"unsteady" has the digit 1, and so has "pelvis-drops"' in reason


@pytest.mark.parametrize("digit", ["0", "10", '"6"'])
def test_a_digit_is_one_to_nine(protocol, digit: str) -> None:
    protocol.replace("signs.toml", "digit = 6", f"digit = {digit}")
    found = problems_in(protocol.path)
    assert ("signs.toml", protocol.line("signs.toml", f"digit = {digit}"), "signs[1].digit") in [
        problem[:3] for problem in found
    ]


def test_a_deficit_needs_sides_tested_apart(protocol) -> None:
    protocol.replace("tests/extension.toml", 'taken_from = "lag"', 'taken_from = "deficit"')
    load_protocol([protocol.path], "small")
    protocol.replace("tests/extension.toml", 'sides = "each"', 'sides = "both"')
    ((_, _, field, reason),) = problems_in(protocol.path)
    assert field == "measures[0].taken_from"
    assert "sides are not tested one by one" in reason
