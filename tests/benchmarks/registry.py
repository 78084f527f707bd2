"""All measurements by name, in the order they are run in. A new one is a module and a line."""

from __future__ import annotations

from benchmarks import assessing, first_key, key_to_paint, listing, processor, stop_key
from benchmarks.figures import Measurement

MEASUREMENTS: dict[str, Measurement] = {
    "first-key": first_key.measure,
    "assess": assessing.measure,
    "judging": assessing.judging,
    "processor": processor.measure,
    "stop-key": stop_key.measure,
    "key-to-paint": key_to_paint.measure,
    "listing": listing.measure,
}
