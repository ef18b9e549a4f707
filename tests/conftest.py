"""Lets test files import the shared `strategies`; one profile for hypothesis: no deadline on a shared machine."""

import sys
from pathlib import Path

from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile(
    "tapkit", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
settings.load_profile("tapkit")
