"""`tapkit card`: one page for a phone, offline: the tap in the round, the film of its cut, and its numbers."""

from __future__ import annotations

import argparse
import base64
import io
import json
import zlib
from pathlib import Path
from typing import Any

from markupsafe import Markup
from PIL import Image

from tapkit import pages, report, reporttext
from tapkit.drawing.film import film
from tapkit.drawing.packed import light, packed
from tapkit.drawing.shaded import describe_shaded, render
from tapkit.messages import _, said
from tapkit.operation import Operation
from tapkit.panels import inround

STILL = (380, 520)
"""Size of the still picture, for paper and for browsers without WebGL [pixels]."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the options of `tapkit card`."""
    report.configure_job(parser)
    parser.add_argument("--out", required=True, metavar="FILE", help="the page to write, such as tap.html")


def run(args: argparse.Namespace) -> int:
    """Write the page; ValueError for input that cannot be used."""
    page, out = card(report.job_from(args), args.units), Path(args.out)
    try:
        out.write_text(page, encoding="utf-8")
    except OSError as error:
        raise ValueError(
            _("cannot write {file}: {why}; name a file in a folder you may write in", file=args.out, why=error.strerror)
        ) from None
    size = round(len(page.encode()) / 1000)
    print(said(_("{file}: {size} kB, one file, needs no network", file=args.out, size=size)))
    return 0


def card(job: Operation, system: str = "metric") -> str:
    """The page as HTML."""
    tap, metal = job.tap, job.workpiece.printed
    title = said(_("{thread} {tap} in {metal}", thread=tap.thread.designation, tap=tap.name, metal=metal), system)
    return pages.page(
        "card.html",
        system=system,
        title=title,
        sentence=describe_shaded(tap),
        still=_still(job),
        numbers=reporttext.as_text(job, system),
        told=_safe(_told(job, title, system)),
        script=Markup(inround.script()),
    )


def _safe(told: dict[str, Any]) -> Markup:
    """JSON that can stand in a script element."""
    return Markup(json.dumps(told, ensure_ascii=False).replace("<", "\\u003c"))


def _told(job: Operation, title: str, system: str) -> dict[str, Any]:
    made, (table, how), cut = packed(job.tap), light(), film(job)
    return {
        "vertices": _packed(made.vertices),
        "about": made.about,
        "light": _packed(table),
        "lightAbout": how,
        "film": cut | {"levels": _packed(cut["levels"])},
        "words": inround.words(title, system),
        "units": inround.shown_units(system),
        "teeth": [],
        "ratio": 0.95,
    }


def _packed(content: bytes) -> str:
    return base64.b64encode(zlib.compress(content, 9)).decode()


def _still(job: Operation) -> str:
    picture, file = render(job.tap, width=STILL[0], height=STILL[1]), io.BytesIO()
    Image.fromarray(picture[..., :3]).save(file, "JPEG", quality=86)
    return base64.b64encode(file.getvalue()).decode()
