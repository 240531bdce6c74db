"""No test asserts how long anything takes: hypothesis is told so too. Its examples are the same in every run, so
that a run is red for a reason in the change; a long run (PATTERNVOICE_FUZZ) draws others."""

import os

from hypothesis import settings

settings.register_profile("untimed", deadline=None, derandomize="PATTERNVOICE_FUZZ" not in os.environ)
settings.load_profile("untimed")
