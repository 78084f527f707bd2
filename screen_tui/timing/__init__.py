"""Stopwatches and counters as values: every call takes the time, none reads a clock."""
