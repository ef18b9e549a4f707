"""What the classroom tests share."""

import os

import hubmachine
import pytest


@pytest.fixture(scope="module")
def machine():
    """A classroom machine with its hub running."""
    reason = hubmachine.why_not()
    if reason and not os.environ.get("TAPKIT_NEEDS_HUB"):
        pytest.skip(reason)
    assert not reason, reason
    one = hubmachine.Machine(18600)
    try:
        yield one.start()
    finally:
        one.clear()
