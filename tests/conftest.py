"""No test asserts how long anything takes: hypothesis is told so too."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
