"""Speed is measured in benchmarks, never asserted by a test: no example has a deadline."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
