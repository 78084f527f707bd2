"""All measurements by name, in the order they are run in. A new one is a module and a line."""

from __future__ import annotations

from benchmarks import first_paint, key_to_paint, listing, memory, processor, stop_key
from benchmarks.figures import Measurement

MEASUREMENTS: dict[str, Measurement] = {
    "first-paint": first_paint.measure,
    "memory": memory.measure,
    "processor": processor.measure,
    "stop-key": stop_key.measure,
    "key-to-paint": key_to_paint.measure,
    "listing": listing.measure,
}
