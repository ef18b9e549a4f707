"""`tapkit card`: one page for a phone, offline: the tap in the round, the film of its cut, and its numbers."""

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
from tapkit.drawing.film import film as film_of
from tapkit.drawing.packed import light, packed
from tapkit.drawing.photo import render
from tapkit.drawing.raster import Camera
from tapkit.drawing.shaded import TapView, describe_shaded
from tapkit.drawing.toothcolours import said_teeth
from tapkit.geometry.tap import Tap
from tapkit.messages import _, said
from tapkit.operation import Operation
from tapkit.panels import inround
from tapkit.panels.script import script

STILL = (380, 520)
"""Size of the still picture, for paper and for browsers without WebGL [pixels]."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the options of `tapkit card`."""
    report.configure_job(parser)
    parser.add_argument("--out", required=True, metavar="FILE", help=str(_("the page to write, such as tap.html")))


def run(args: argparse.Namespace) -> int:
    """Write the page; ValueError for input that cannot be used."""
    page, out = card(report.job_of_arguments(args), args.units), Path(args.out)
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
    title = _("{thread} {tap} in {metal}", thread=tap.thread.designation, tap=tap.name, metal=metal)
    told = dict(numbers=reporttext.as_text(job, system), teeth=said_teeth(job, system))
    return round_page(tap, title, describe_shaded(TapView(tap)), _still(job), system, job=job, **told)


def round_page(
    tap: Tap,
    title: Any,
    sentence: Any,
    still: bytes,
    system: str = "metric",
    *,
    job: Operation | None = None,
    asking: bool = False,
    numbers: str = "",
    **told: Any,
) -> str:
    """A tap to turn, with the film of a job where there is one, as a page that needs nothing else: `still` a JPEG or
    PNG for paper and where WebGL is missing, `asking` as in `film`, `told` what the view is told besides (`teeth`,
    `steps`, `view`)."""
    return pages.page(
        "card.html",
        system=system,
        title=title,
        sentence=sentence,
        kind="png" if still.startswith(b"\x89PNG") else "jpeg",
        still=base64.b64encode(still).decode(),
        numbers=numbers,
        told=_safe(_told(tap, job, asking, said(title, system), system) | told),
        script=Markup(script(*inround.PARTS)),
    )


def _safe(told: dict[str, Any]) -> Markup:
    """JSON that can stand in a script element."""
    return Markup(json.dumps(told, ensure_ascii=False).replace("<", "\\u003c"))


def _told(tap: Tap, job: Operation | None, asking: bool, name: str, system: str) -> dict[str, Any]:
    made, (table, how), cut = packed(tap), light(), film_of(job, asking) if job else None
    return {
        "vertices": _packed(made.vertices),
        "about": made.about,
        "light": _packed(table),
        "lightAbout": how,
        "film": cut and cut | {"levels": _packed(cut["levels"])},
        "words": inround.round_words(system),
        "name": name,
        "units": inround.shown_units(system),
        "teeth": [],
        "ratio": 0.95,
    }


def _packed(content: bytes) -> str:
    return base64.b64encode(zlib.compress(content, 9)).decode()


def _still(job: Operation) -> bytes:
    picture, file = render(Camera(job.tap, width=STILL[0], height=STILL[1])), io.BytesIO()
    Image.fromarray(picture[..., :3]).save(file, "JPEG", quality=86)
    return file.getvalue()
