"""The notices that the licences of the standards in use ask for."""

from __future__ import annotations

import textwrap

_NOTICES = (
    # The notice of https://loinc.org/license, for materials that hold some codes and names.
    "This material contains content from LOINC (http://loinc.org). LOINC is copyright © "
    "Regenstrief Institute, Inc. and the Logical Observation Identifiers Names and Codes (LOINC) "
    "Committee and is available at no cost under the license at http://loinc.org/license. LOINC® "
    "is a registered United States trademark of Regenstrief Institute, Inc.",
    # UCUM Copyright Notice and License, version 1.0, March 2022.
    "Units are written in UCUM (https://ucum.org). The Unified Code for Units of Measure (UCUM), "
    "also known as the “UCUM Specification”, is copyright ©1999-2022, Regenstrief Institute, Inc. "
    "All rights reserved. It is licensed under the UCUM License, Version 1.0; a copy is at "
    "https://unitsofmeasure.org/license. It is distributed on an “AS IS” BASIS, WITHOUT WARRANTIES "
    "OR CONDITIONS OF ANY KIND, either express or implied.",
    # https://hl7.org/fhir/R4/license.html; the specification itself is under CC0.
    "The bundle that export writes follows HL7 FHIR R4 (https://hl7.org/fhir/R4). HL7®, HEALTH "
    "LEVEL SEVEN® and FHIR® are trademarks owned by Health Level Seven International, registered "
    "with the United States Patent and Trademark Office. Their use does not constitute endorsement "
    "by HL7.",
)


def notices() -> str:
    """The notices, wrapped for a terminal."""
    return "\n\n".join(textwrap.fill(one, 79, break_on_hyphens=False) for one in _NOTICES)
