"""Files to take away: tables and pictures with the inputs they stand for written in."""

import base64
import mimetypes
from collections.abc import Callable, Iterable
from datetime import datetime
from itertools import chain
from pathlib import Path
from textwrap import wrap
from typing import Any

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit import compare
from tapkit.drawing import style
from tapkit.drawing.pair import NAMES, SIZE, draw_pair
from tapkit.drawing.pen import Pen
from tapkit.drawing.sweepchart import SweepPicture, draw_sweepchart
from tapkit.messages import _
from tapkit.operation import Operation
from tapkit.panels.markup import tag

FOLDER = "saved-from-the-bench"
SWEEP_SIZE = (860, 400)
DPI = 96
FOOT = 130
"""Room for the inputs below a picture, in pixels."""


def inputs_in_words(job: Operation, system: str = "metric") -> str:
    """All inputs of a job in one line."""
    return "; ".join(f"{str(line.label).lower()} {line.shown(system)[0]}" for line in compare.lines([job], "inputs"))


def save_bench(
    jobs: tuple[Operation, Operation], sweep: SweepPicture, system: str = "metric", folder: str | Path = FOLDER
) -> list[str]:
    """Write CSV, JSON, and both pictures as SVG and PNG; names of the files. OSError where the folder is closed."""
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    stem = f"bench-{datetime.now():%Y%m%d-%H%M%S}"
    named = dict(zip(NAMES, jobs))
    texts = {".csv": compare.as_csv(named, system), ".json": compare.as_json(named)}
    for ending, text in texts.items():
        (place / f"{stem}{ending}").write_text(text, encoding="utf-8")
    pictures = {
        stem: (SIZE, lambda figure, foot: chain(*draw_pair(figure, jobs, system, bottom=foot))),
        f"{stem}-sweep": (
            SWEEP_SIZE,
            lambda figure, foot: [draw_sweepchart(figure.add_axes((0, foot, 1, 1 - foot)), sweep)],
        ),
    }
    told = " | ".join(f"{n}: {inputs_in_words(j, system)}" for n, j in named.items())
    for name, (size, draw) in pictures.items():
        save_picture(_with_inputs(size, draw, jobs, system), place / name, told)
    return [str(p) for p in sorted(place.glob(f"{stem}*"))]


def save_picture(figure: Figure, path: Path, words: str) -> None:
    """One figure as SVG and PNG, with `words` in both files' own description."""
    for ending in (".svg", ".png"):
        with matplotlib.rc_context({"svg.fonttype": "path"}):
            figure.savefig(path.with_name(path.name + ending), dpi=2 * DPI, metadata={"Description": words})


def _with_inputs(
    size: tuple[int, int],
    draw: Callable[[Figure, float], Iterable[Pen]],
    jobs: tuple[Operation, Operation],
    system: str,
) -> Figure:
    """A picture that `draw(figure, share)` makes above a share of the height, in which the inputs stand."""
    width, height = size[0], size[1] + FOOT
    figure = Figure(figsize=(width / DPI, height / DPI), dpi=DPI)
    FigureCanvasAgg(figure)
    for pen in draw(figure, FOOT / height):
        for artist in pen:
            artist.set_animated(False)
    lines = []
    for name, job in zip(NAMES, jobs):
        lines += wrap(f"{name}: {inputs_in_words(job, system)}", int(width / 6.1), subsequent_indent="    ")
    look = dict(size=7.5, family=style.FONT, color=style.INK, va="bottom", linespacing=1.25)
    figure.text(8 / width, 0.008, "\n".join(lines), **look)
    return figure


def links(files: list[str]) -> str:
    """Links that download the files, which also lie beside the workbook."""
    parts: list[Any] = [_("Saved in {folder}:", folder=str(Path(files[0]).parent)), " "]
    for file in files:
        path = Path(file)
        kind = mimetypes.guess_type(path.name)[0] or "text/plain"
        data = base64.b64encode(path.read_bytes()).decode()
        ending = path.suffix[1:].upper()
        label = _("{ending} (what if)", ending=ending) if "sweep" in path.stem else ending
        parts += [tag("a", label, download=path.name, href=f"data:{kind};base64,{data}"), " · "]
    return tag("span", *parts[:-1])
