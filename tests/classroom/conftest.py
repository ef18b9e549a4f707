"""What the classroom tests share."""

import hubmachine
import pytest


@pytest.fixture(scope="module")
def machine():
    """A classroom machine with its hub running."""
    hubmachine.needed()
    one = hubmachine.Machine(18600)
    try:
        yield one.start()
    finally:
        one.clear()
