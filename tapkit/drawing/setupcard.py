"""The set-up card: one page of HTML that prints on A4 and on Letter, with drawing, numbers, cautions and checks."""

import base64
import io

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit import setupline, tables
from tapkit.drawing.holeplanview import describe_holeplan, draw_holeplan
from tapkit.messages import _, of_table
from tapkit.pages import page
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.setup import SetUp

WIDE, HIGH = 5.5, 3.4
"""Size of the drawing's sheet [inch]; on paper it is set to the width of its column."""


def setup_card_page(setup: SetUp, *, system: str = "metric", part: str = "") -> str:
    """A whole HTML page for one set-up; nothing is loaded from elsewhere. `part` names the part, or leaves a blank."""
    job = setup.job
    return page(
        "setupcard.html",
        system=system,
        setup=setup,
        part=part,
        title=_("Set-up card"),
        head=_(
            "{thread} in {work}, {machine}",
            thread=job.thread.designation,
            work=of_table(job.work.printed),
            machine=of_table(job.machine.printed),
        ),
        words=describe_holeplan(setup.plan, system),
        picture=_picture(setup.plan, system),
        cautions=tables.rows("cautions"),
        line=setupline.Line(setup.judged.operation),
        code=code_of(setupline.Line(setup.judged.operation).said(system)),
    )


def code_of(text: str) -> str | None:
    """A text as a code that a phone reads (ISO/IEC 18004), SVG in base64; None where no package that draws it is there:
    it is the extra `tapkit[codes]`."""
    try:
        import segno
    except ImportError:
        return None
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", border=2, xmldecl=False, svgns=True, nl=False)
    return base64.b64encode(out.getvalue()).decode()


def _picture(plan: HolePlan, system: str) -> str:
    """The hole plan as SVG in base64."""
    figure = Figure(figsize=(WIDE, HIGH))
    FigureCanvasAgg(figure)
    draw_holeplan(figure.add_axes((0, 0, 1, 1)), plan, system=system)
    out = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "tapkit", "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return base64.b64encode(out.getvalue()).decode()
