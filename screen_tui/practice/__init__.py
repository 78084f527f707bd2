"""Practice on a simulated patient: cases, what can be seen of them, and how a student did.

Pure, apart from `files`. A screen goes this way:

1. `files.load_practice` gives the cases and the lists for a class of the folders
   (`places.practice_cases_folder` and `own_cases_folder`), `drawn.drawn_case` another patient for
   each seed; ``Case.title`` and ``Case.story`` open one. Take an id from ``files.RunStore.new_id``.
2. `interview.Interview` answers each question in the patient's own words, and tells more when asked
   further; the student ticks what he takes it to mean in the ordinary form of `trial.intake`.
3. The student runs the ordinary tests of `trial` on a session of his own. Beside the timer
   stands ``player.at(timeline, t)``, with the timeline of ``staging.next_timeline`` (None: not part
   of the case) and t in seconds since its start. Begin the picture at ``-timeline.lead_in_s``:
   where that is not 0, the patient starts the clock, not the word go; where it is, t = 0 is the
   student's first key.
4. The student commits: `scoring.Commitment`.
5. ``scoring.score`` says how it went; ``run.finished_run`` makes the record, ``RunStore.save``
   keeps it, and ``run.progress_of`` gives the figures over all runs.
"""
