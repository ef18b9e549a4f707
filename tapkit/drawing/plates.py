"""The plates of figures/: made by `tapkit figures`, the same bytes every time on one machine."""

import argparse
import base64
import contextlib
import html
import importlib.metadata
import io
import re
from pathlib import Path
from typing import Any, NamedTuple

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

import tapkit
from tapkit.drawing import platecharts, plateset, style
from tapkit.drawing.plateset import Plate, PlateSheet
from tapkit.messages import _, listed

DPI, RENDERED_DPI = 144, 92
"""Dots in an inch of the PNG of a line drawing and of a rendering."""
COLOURS, TINTS = 128, 40
"""Colours kept in a PNG for small files: the commonest, and those that cover a rendering's tints."""
SALT = "tapkit plates"
"""Fixed seed of the names inside an SVG."""

PLATES: dict[str, Plate] = {p.name: p for p in (*plateset.PLATES, *platecharts.PLATES)}
"""Every plate by name, in the order of the course."""


class Files(NamedTuple):
    """A plate as the bytes of its two files."""

    png: bytes
    svg: bytes


def make(name: str) -> Files:
    """Draw one plate."""
    plate = plate_named(name)
    figure = Figure(figsize=plate.size, dpi=96, facecolor=style.PAPER)
    FigureCanvasAgg(figure)
    sheet = PlateSheet(figure, plate.title)
    plate.draw(sheet)
    sheet.finish()
    with matplotlib.rc_context({"svg.hashsalt": f"{SALT} {name}", "svg.fonttype": "path", "path.simplify": True}):
        png = _png(figure, plate)
        return Files(png, _wrapped(png, plate) if plate.rendered else _svg(figure))


def plate_named(name: str) -> Plate:
    """The plate of this name.

    >>> str(plate_named("tip").title)
    'The working end of a tap'
    """
    if name not in PLATES:
        raise ValueError(_("there is no plate {name}; there are {known}", name=repr(name), known=listed(PLATES)))
    return PLATES[name]


def figures_folder() -> Path:
    """The folder figures/ with the plates: beside the package in a checkout, among the installed data files
    otherwise."""
    beside = Path(tapkit.__file__).resolve().parents[1] / "figures"
    return beside if beside.is_dir() else _installed() or beside


def plate_png(name: str) -> bytes:
    """The picture of a plate; OSError where it is not in figures/."""
    return (figures_folder() / f"{name}.png").read_bytes()


def _installed() -> Path | None:
    """Where pip put the plates, or None."""
    with contextlib.suppress(importlib.metadata.PackageNotFoundError):
        for file in importlib.metadata.files("tapkit") or ():
            if "share/tapkit/figures/" in file.as_posix():
                return Path(str(file.locate())).resolve().parent
    return None


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit figures`."""
    parser.add_argument(
        "--out", metavar="DIR", help=str(_("folder for the files (figures/ of the repository if left out)"))
    )
    parser.add_argument(
        "--only", metavar="NAME", action="append", help=str(_("make this plate only; may be given again"))
    )


def run(arguments: argparse.Namespace) -> int:
    """Write every plate as SVG and PNG."""
    names = [plate_named(n).name for n in arguments.only or PLATES]
    folder = Path(arguments.out) if arguments.out else figures_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in names:
            files = make(name)
            (folder / f"{name}.png").write_bytes(files.png)
            (folder / f"{name}.svg").write_bytes(files.svg)
            print(f"{folder / name}.png, .svg")
    except OSError as error:
        told = dict(folder=folder, why=error.strerror)
        raise ValueError(_("cannot write to {folder}: {why}; give another folder with --out", **told)) from None
    return 0


def _png(figure: Figure, plate: Plate) -> bytes:
    """A small PNG of a few colours: flat ones for a line drawing, mixed dot by dot for a rendering."""
    from PIL import Image

    raw, small, dpi = io.BytesIO(), io.BytesIO(), RENDERED_DPI if plate.rendered else DPI
    figure.savefig(raw, format="rgba", dpi=dpi)
    picture = Image.fromarray(np.frombuffer(raw.getvalue(), np.uint8).reshape(-1, int(plate.size[0] * dpi), 4)[..., :3])
    _few_colours(picture, plate.rendered).save(small, "png", optimize=True)
    return small.getvalue()


def _few_colours(picture: Any, rendered: bool) -> Any:
    """The picture in a palette of its commonest colours, of ours, and of a rendering's few tints."""
    from PIL import Image

    common = picture.quantize(COLOURS, method=Image.Quantize.MEDIANCUT).getpalette()[: 3 * COLOURS]
    tints = picture.quantize(TINTS, method=Image.Quantize.MAXCOVERAGE).getpalette()[: 3 * TINTS] if rendered else []
    table = Image.new("P", (1, 1))
    table.putpalette([*_our_colours(), *tints, *common])
    if not rendered:
        return _nearest(picture, table)
    few = picture.quantize(palette=table, dither=Image.Dither.FLOYDSTEINBERG)
    paper = (np.asarray(picture) == 255).all(axis=2)
    few.paste(0, mask=Image.fromarray(paper.astype(np.uint8) * 255))  # our first colour is the paper
    return few


def _nearest(picture: Any, table: Any) -> Any:
    """The picture with every colour replaced by the nearest one of a palette."""
    from PIL import Image

    rgb = np.asarray(picture)
    found, back = np.unique(rgb.reshape(-1, 3) @ np.array([65536, 256, 1]), return_inverse=True)
    seen = np.column_stack([found >> 16, found >> 8 & 255, found & 255])
    ours = np.array(table.getpalette()).reshape(-1, 3)
    index = np.concatenate([((p[:, None] - ours) ** 2).sum(axis=2).argmin(axis=1) for p in np.array_split(seen, 40)])
    few = Image.fromarray(index[back.ravel()].astype(np.uint8).reshape(rgb.shape[:2]), "P")
    few.putpalette(table.getpalette())
    return few


def _our_colours() -> list[int]:
    """Red, green, blue of every colour of the style, one after another."""
    named = [v for v in vars(style).values() if isinstance(v, str) and v.startswith("#")]
    return [int(c[i : i + 2], 16) for c in dict.fromkeys([*named, *style.FLUTES]) for i in (1, 3, 5)]


def _wrapped(png: bytes, plate: Plate) -> bytes:
    """A rendering as an SVG that carries its PNG."""
    wide, high = (72 * s for s in plate.size)
    data = base64.b64encode(png).decode()
    size = f'width="{wide:g}pt" height="{high:g}pt" viewBox="0 0 {wide:g} {high:g}"'
    title = html.escape(str(plate.title), quote=False)
    image = f'<image width="{wide:g}" height="{high:g}" href="data:image/png;base64,{data}"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}><title>{title}</title>{image}</svg>\n'.encode()


def _svg(figure: Figure) -> bytes:
    raw = io.BytesIO()
    figure.savefig(raw, format="svg", metadata={"Date": None, "Creator": None})
    lines = [x.rstrip() for x in raw.getvalue().decode().splitlines() if "matplotlib" not in x.lower()]
    return (re.sub(r"(?<= d=\")[^\"]*", lambda d: _shorter(d[0]), "\n".join(lines)) + "\n").encode()


def _shorter(path: str) -> str:
    """Path data with two decimals, a hundredth of a point."""
    return re.sub(r"-?\d+\.\d{3,}", lambda n: f"{float(n[0]):.2f}".rstrip("0").rstrip("."), path)
