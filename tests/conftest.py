"""What holds for all tests."""

from __future__ import annotations

from hypothesis import settings

# How long one example takes says how busy the machine is, not whether the code is right.
settings.register_profile("configopt", deadline=None)
settings.load_profile("configopt")
