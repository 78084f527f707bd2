"""One screen as an HL7 FHIR R4 Bundle, in plain dictionaries; `bundle` is the way in."""
