"""The version, and the notices of the standards that what is written makes use of."""

from __future__ import annotations

import pytest

from screen_tui.cli import main as cli


def test_the_version_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == 0
    assert capsys.readouterr().out.count("\n") == 1


def test_the_notices_name_owner_and_licence_of_each_standard(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["--version", "--notices"]) == 0
    printed = capsys.readouterr().out
    assert all(len(line) < 80 for line in printed.splitlines())
    text = " ".join(printed.split())
    for each in (
        # https://loinc.org/license
        "This material contains content from LOINC (http://loinc.org).",
        "available at no cost under the license at http://loinc.org/license.",
        "LOINC® is a registered United States trademark of Regenstrief Institute, Inc.",
        # https://unitsofmeasure.org/license, version 1.0, March 2022, section 3 b
        "copyright ©1999-2022, Regenstrief Institute, Inc. All rights reserved.",
        "UCUM License, Version 1.0; a copy is at https://unitsofmeasure.org/license.",
        "WITHOUT WARRANTIES OR CONDITIONS OF ANY KIND",
        # https://hl7.org/fhir/R4/license.html
        "HL7®, HEALTH LEVEL SEVEN® and FHIR® are trademarks owned by Health Level Seven",
    ):
        assert each in text


def test_notices_alone_are_refused_with_the_whole_line(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        cli.main(["--notices"])
    assert left.value.code == 2
    assert "screen-tui --version --notices" in capsys.readouterr().err
