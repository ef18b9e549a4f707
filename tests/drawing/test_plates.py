"""The plates of figures/: the same bytes every time, small, with nothing of the machine in them, and up to date."""

import hashlib
import io
import re
import subprocess
import sys
from functools import cache

import numpy as np
import pytest
from PIL import Image

from tapkit.cli import main
from tapkit.drawing import label, plates

MOST_KB = 150
"""Largest PNG [kB]."""


@cache
def made(name: str) -> plates.Files:
    return plates.make(name)


@pytest.mark.parametrize("name", ["groove", "shaded-taps"])
def test_a_plate_comes_out_the_same_bytes_again(name):
    assert plates.make(name) == made(name)


def test_a_plate_is_the_same_in_another_process(tmp_path):
    command = [sys.executable, "-m", "tapkit", "figures", "--only", "tip", "--out", str(tmp_path)]
    subprocess.run(command, check=True, capture_output=True, env={"PYTHONHASHSEED": "77", "PATH": ""})
    assert (tmp_path / "tip.png").read_bytes() == made("tip").png
    assert (tmp_path / "tip.svg").read_bytes() == made("tip").svg


LETTERS = "e47af0d3a47992df"
"""How letters fell where the plates were made (a regression value); another matplotlib sets them a hair differently."""


def letters_here() -> str:
    return hashlib.sha256(
        b"".join(label._coverage(t, 14.667, b)[0].tobytes() for t in ("⌀ 10.00 mm", "4 threads") for b in (0, 1))
    ).hexdigest()[:16]


def grey(data: bytes, shrink: int = 1) -> np.ndarray:
    picture = Image.open(io.BytesIO(data)).convert("L")
    size = (picture.width // shrink, picture.height // shrink)
    return np.asarray(picture.resize(size, Image.Resampling.BOX) if shrink > 1 else picture, float)


@pytest.mark.parametrize("name", plates.PLATES)
def test_the_plate_in_figures_is_the_one_made_now(name):
    """Dot by dot where letters fall as they did; elsewhere the same but for a hair."""
    file = plates.figures_folder() / f"{name}.png"
    assert file.is_file(), "run 'tapkit figures'"
    assert file.with_suffix(".svg").is_file(), "run 'tapkit figures'"
    old, new = file.read_bytes(), made(name).png
    assert grey(old).shape == grey(new).shape, "the plate is out of date: run 'tapkit figures'"
    if letters_here() == LETTERS:
        off = float((np.abs(grey(old) - grey(new)) > 16).mean())
        assert off < 1e-4, f"{off:.3%} of the dots differ: run 'tapkit figures'"
    else:
        assert np.abs(grey(old, 16) - grey(new, 16)).mean() < 2.0, "run 'tapkit figures'"


def test_nothing_but_plates_lies_in_figures():
    there = {p.name for p in plates.figures_folder().iterdir()}
    assert there == {f"{n}{end}" for n in plates.PLATES for end in (".png", ".svg")}


@pytest.mark.parametrize("name", plates.PLATES)
def test_a_plate_is_small_and_tells_nothing_of_its_maker(name):
    files = made(name)
    assert len(files.png) <= MOST_KB * 1024
    for word in (b"matplotlib", b"tEXt", b"tIME", b"Software"):
        assert word not in files.png
    text = files.svg.decode()
    assert "matplotlib" not in text.lower()
    assert "dc:date" not in text
    assert "/home" not in text
    assert "/root" not in text
    assert re.search(r"<svg[^>]*viewBox", text)


@pytest.mark.parametrize("name", plates.PLATES)
def test_a_plate_has_a_caption_of_one_or_two_sentences(name):
    said = str(plates.plate_named(name).caption)
    assert said.endswith(".")
    assert 40 < len(said) < 320


def test_the_invented_example_is_called_one():
    assert "invented example" in str(plates.plate_named("hole-plans").caption)
    assert "invented example" in plates.plate_named("hole-plans").title


def test_an_unknown_plate_is_refused_in_one_line(capsys):
    assert main(["figures", "--only", "teapot"]) == 2
    said = capsys.readouterr().err.strip()
    assert "teapot" in said
    assert "bench" in said
    assert "\n" not in said


def test_a_folder_that_cannot_be_is_refused_in_one_line(tmp_path, capsys):
    (tmp_path / "file").write_text("not a folder")
    assert main(["figures", "--only", "tip", "--out", str(tmp_path / "file" / "under")]) == 2
    assert "give another folder" in capsys.readouterr().err
