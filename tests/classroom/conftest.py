"""What the classroom tests share."""

import os

import hubmachine
import pytest


@pytest.fixture(scope="module")
def machine():
    """A classroom machine with its hub running."""
    with hubmachine.Machine(int(os.environ.get("TAPKIT_HUB_PORT", "18600"))) as one:
        yield one
