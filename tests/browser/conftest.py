"""Every test in this folder needs the real browser."""

import pytest


def pytest_collection_modifyitems(items):
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.browser)
