"""The pre-fork server loads what every server comes to load, and nothing that must be loaded by each for itself."""

import os
import subprocess
import sys

import pytest

from tapkit.classroom.prefork import CONSTANT

pytest.importorskip("jupyterhub")

LOAD = """
import os, sys
from tapkit.classroom import prefork
prefork._load()
print(*(name for name in (*prefork.SHARED, "jupyter_server.services.contents.handlers") if name not in sys.modules))
print(*(name for name in sys.modules if name.split(".")[0] == "jupyterhub"))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="the hub is for Linux")
def test_all_it_names_is_there_and_no_thread_was_started_and_nothing_of_the_hub_is_loaded():
    done = subprocess.run(
        [sys.executable, "-c", LOAD], env={**os.environ, **CONSTANT}, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == ""
