"""Practice on a simulated patient: cases, what can be seen of them, and how a student did.

Pure, apart from `files`. The student runs the ordinary tests of `trial` on a session of his own.
"""
