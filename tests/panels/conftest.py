"""What tests of panels begin with: a learner's record, a folder of their own, an instructor's machine."""

import pytest

from tapkit.exercises import ownfile
from tapkit.exercises.record import Record


@pytest.fixture
def record(tmp_path):
    return Record(tmp_path / "my-answers.jsonl")


@pytest.fixture
def in_a_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("TAPKIT_DRAWER", raising=False)


@pytest.fixture
def instructor(tmp_path, monkeypatch):
    """The folder of an instructor without a hub."""
    for name in ("TAPKIT_ROOM", "TAPKIT_CLASS", "TAPKIT_LEARNER"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TAPKIT_FOLDER", str(tmp_path))
    monkeypatch.setattr(ownfile, "_also", [])
    (tmp_path / "class-book.ipynb").write_text("{}")
    return tmp_path
