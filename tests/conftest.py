"""Lets test files import the shared `strategies`; one profile for hypothesis: no deadline on a shared machine; one browser.

In CI the examples are the same every time, so that a landing does not hang on luck; at home they are new ones, and
TAPKIT_EXAMPLES says how many of each.
"""

import os
import re
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from xdist.scheduler import LoadScopeScheduling

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


BROWSER = re.compile(r"tests/(browser/|workbooks/test_modes|classroom/test_sheets)")
"""Files that use the browser."""
HUB = re.compile(r"tests/classroom/test_(hub|kubernetes)")
"""Files with a hub, whose accounts and ports are one set for the machine."""


def place(nodeid):
    """0 for most; 1 with a browser, 2 with a hub: they come last, as `realbrowser` wants it."""
    return 2 if HUB.match(nodeid) else 1 if BROWSER.match(nodeid) else 0


def pytest_collection_modifyitems(items):
    for item in items:
        if place(item.nodeid):
            item.add_marker(pytest.mark.flaky(reruns=1))  # a live test that fails is tried once more, and listed
        elif "chromium" in getattr(item, "fixturenames", ()):
            raise pytest.UsageError(f"{item.nodeid} uses the browser: name its file in BROWSER")
    items.sort(key=lambda item: place(item.nodeid))


class ByFile(LoadScopeScheduling):
    """With `-n` a file stays on one worker, and so do all with a browser, and all with a hub."""

    def _split_scope(self, nodeid):
        return (nodeid.split("::")[0], "browser", "hub")[place(nodeid)]


def pytest_xdist_make_scheduler(config, log):
    return ByFile(config, log)


def pytest_terminal_summary(terminalreporter):
    """Each live test that had to be tried once more, and what was wrong the first time."""
    again = terminalreporter.stats.get("rerun", [])
    if again:
        terminalreporter.section("tried once more: to be looked into")
    for report in again:
        terminalreporter.write_line(f"{report.nodeid}\n{report.longreprtext}\n")
