"""What stands on several pages, the first among them, which is painted before anything is read."""

from __future__ import annotations

NOT_A_DIAGNOSIS = (
    "Not a diagnosis. It weighs what was seen; the decision is the licensed clinician's, "
    "under local policy."
)
