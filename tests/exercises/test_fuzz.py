"""The atheris run of the answer readers: a few seconds here, ten minutes when asked for (slow)."""

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent

needs_atheris = pytest.mark.skipif(importlib.util.find_spec("atheris") is None, reason="atheris is not installed")


@needs_atheris
@pytest.mark.timeout(900)
@pytest.mark.parametrize("seconds", [6, pytest.param(600, marks=pytest.mark.slow)])
def test_no_answer_breaks_a_judge(tmp_path, seconds):
    command = [
        sys.executable,
        str(HERE / "fuzz_answers.py"),
        f"-max_total_time={seconds}",
        "-max_len=1200",
        "-len_control=10",
    ]
    command += [f"-dict={HERE / 'answers.dict'}", f"-artifact_prefix={tmp_path}/", str(tmp_path)]
    done = subprocess.run(
        command, capture_output=True, text=True, env={**os.environ, "PYTHONHASHSEED": "0"}, check=False
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert "Done" in done.stderr
