"""The columns of the table, in order, each with what it means; README.md lists them for users."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, with the unit in it where it has one of its own, and its meaning."""

    name: str
    meaning: str


COLUMNS = tuple(
    Column(name, meaning)
    for name, meaning in (
        ("session", "id of the session"),
        ("invented", "`yes` for demonstration data"),
        ("started", "date and time with the offset from UTC"),
        ("label", "the local label of the person"),
        ("age", "years"),
        ("sex", "as used for the reference tables"),
        ("height_cm", "centimetres"),
        ("mass_kg", "kilograms"),
        ("complaint_side", "`left`, `right` or `both`"),
        ("weight_bearing", "as allowed"),
        ("surgery_weeks", "weeks since surgery"),
        ("outcome", "kind of answer, as in `assess --json`"),
        ("leading", "leading drivers with their side, best first, parted by `; `"),
        ("stopped", "why the whole screen was stopped"),
        ("protocol", "id of the battery"),
        ("protocol_digest", "of the protocol that read the session now"),
        ("protocol_changed", "`yes` when it was recorded under another digest"),
        ("test", "id of the test"),
        ("side", "`left`, `right`, or `both` for both legs together"),
        ("measure", "id of the number within the test"),
        ("value", "the number, in `unit`"),
        ("at_least", "`yes` when the clock stopped a hold at its full time"),
        ("unit", "of value, limit, reference, error and trials"),
        (
            "standing",
            "`meets`, `near the line`, `short of the line`, `not judged`; `watched` for a test "
            "without a number; `not done`",
        ),
        ("short", "`yes` when on the bad side of the line"),
        ("why_not", "why it was not judged or not done"),
        ("near_within", "measurement error at the line, in `unit`"),
        ("symmetry_percent", "worse side as a share of the better"),
        ("slowing_percent", "last third of the repetitions against the first"),
        ("trials", "number of trials that make the value"),
        ("trial_values", "their values in order, as `[6.2, 7.1]`"),
        ("line_id", "id of the line it was held against"),
        ("line_meets", "`at least`, `more than`, `at most` or `less than`"),
        ("line_limit", "the limit for this age and sex, in `unit`"),
        ("line_source", "id of its source"),
        ("reference_mean", "mean of the reference sample, in `unit`"),
        ("reference_sd", "its standard deviation, in `unit`"),
        ("percentile", "of the value in that sample"),
        ("reference_source", "id of its source"),
        ("pain_max", "worst pain, 0 to 10, in any trial of the test and side"),
        ("signs", "ids of the signs seen in trials without a cue, parted by blanks"),
        ("aid", "walking aid, where it was noted"),
        ("seat_cm", "seat height in centimetres, where it was noted"),
        ("step_cm", "step height in centimetres, where it was noted"),
        ("riser_cm", "height of one stair in centimetres, where it was noted"),
        ("footwear", "where it was noted"),
        ("steps", "stair steps of the flight"),
    )
)
