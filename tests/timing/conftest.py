from hypothesis import settings

# How long one example takes says something about the computer, not about a timer.
settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")
