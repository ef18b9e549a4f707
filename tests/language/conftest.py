"""A catalogue made at test time by Babel: each message it extracts in brackets, with a decimal comma."""

import subprocess
import sys
from pathlib import Path

import pytest
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from tapkit import messages

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def template(tmp_path_factory):
    """All messages of code, templates and tables, as `pybabel extract` finds them."""
    place = tmp_path_factory.mktemp("messages") / "tapkit.pot"
    command = [sys.executable, "-m", "babel.messages.frontend", "-q", "extract", "-F", "pyproject.toml"]
    done = subprocess.run([*command, "-o", str(place), "."], cwd=ROOT, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    with place.open("rb") as file:
        return read_po(file, locale="en")


@pytest.fixture(scope="session")
def folder(template, tmp_path_factory):
    """A folder of catalogues with one language, "xx"."""
    for message in template:
        if message.id == ".":
            message.string = ","
        elif isinstance(message.id, tuple):
            message.string = tuple(f"[{text}]" for text in message.id)
        elif message.id:
            message.string = f"[{message.id}]"
    top = tmp_path_factory.mktemp("locale")
    place = top / "xx" / "LC_MESSAGES" / "tapkit.mo"
    place.parent.mkdir(parents=True)
    with place.open("wb") as file:
        write_mo(file, template)
    return top


@pytest.fixture
def bracketed(folder, monkeypatch):
    """The language "xx" in use."""
    monkeypatch.setattr(messages, "CATALOGUES", folder)
    messages.use("xx")
    yield
    messages.use("")
