"""Practice on a simulated patient: cases, what can be seen of them, and how a student did.

Pure, apart from `casefile` and `runfile`, which read and write files. A screen goes this way:

1. `casefile.load_cases` gives the cases; `Case.title` and `Case.story` open one.
2. `interview.Interview` answers each question in the patient's own words; the student ticks what
   he takes it to mean in the ordinary form of `flow.intake`.
3. The student runs the ordinary tests of `flow.desk`. Beside the timer stands
   ``player.at(timeline, t)``, with the timeline from ``staging.next_timeline``.
4. The student commits himself: `commitment.Commitment`.
5. ``scoring.score`` says how it went; ``run.PracticeRun`` keeps it, ``runfile.RunStore`` saves it,
   and ``progress`` shows it over the runs.
"""
