"""Qt without a screen, and no stopwatch on property tests, for every test."""

import os

import hypothesis

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# A first call that loads a library, or a busy machine, is no failure.
hypothesis.settings.register_profile("mapper", deadline=None)
hypothesis.settings.load_profile("mapper")
