"""Lets test files import the shared `strategies`; one profile for hypothesis: no deadline on a shared machine; one browser.

In CI the examples are the same every time, so that a landing does not hang on luck; at home they are new ones, and
TAPKIT_EXAMPLES says how many of each.
"""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile(
    "tapkit",
    deadline=None,
    max_examples=int(os.environ.get("TAPKIT_EXAMPLES", "60")),
    derandomize=bool(os.environ.get("CI")),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
settings.load_profile("tapkit")

from realbrowser import chromium, page  # noqa: E402 - found through the path set above

__all__ = ["chromium", "page"]


def pytest_collection_modifyitems(items):
    """Files that use the browser come last, as `realbrowser` wants it; those with a hub, whose accounts and ports are one
    set for the machine, after them. With `-n` each file stays on one worker, and so do all with a browser, and all with
    a hub."""
    with_browser = {item.path for item in items if "chromium" in getattr(item, "fixturenames", ())}
    with_hub = {item.path for item in items if item.path.name.startswith(("test_hub", "test_kubernetes"))}

    def place(item):
        return 2 if item.path in with_hub else 1 if item.path in with_browser else 0

    items.sort(key=place)
    for item in items:
        item.add_marker(pytest.mark.xdist_group((str(item.path), "browser", "hub")[place(item)]))
