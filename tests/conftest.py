"""Qt without a screen, for every test."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
