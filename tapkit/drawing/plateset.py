"""Plates of taps, teeth and holes. The apple press in them is an invented example."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from tapkit.drawing import (
    clueviews,
    dims,
    edgemap,
    endview,
    groove,
    holeview,
    leanview,
    style,
    tapside,
    tip,
    toolangles,
    toothbars,
)
from tapkit.drawing.pen import Pen
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import in_words
from tapkit.mechanics.toothload import SOUND, Faults
from tapkit.messages import Sentence, _, length, ngettext, of_table
from tapkit.operation import Operation

HEAD = 34.0
"""Height of the title [pt]."""


class Plate(NamedTuple):
    """One plate: its file's `name`, `title`, `size` in inches, `draw(sheet)`, `caption`, and whether it holds a
    rendered picture."""

    name: str
    title: Sentence
    size: tuple[float, float]
    draw: "Callable[[PlateSheet], None]"
    caption: Sentence
    rendered: bool = False


class PlateSheet:
    """A figure with a title and cells measured in points from the upper left corner."""

    def __init__(self, figure: Figure, title: Any) -> None:
        self.figure = figure
        self.pen = Pen(figure.add_axes((0, 0, 1, 1), zorder=5, facecolor="none"))
        self.pen.text(10, self.pen.height - 9, title, size=style.TITLE, va="top", bold=True)

    @property
    def width(self) -> float:
        """Width of the sheet [pt]."""
        return self.pen.width

    @property
    def room(self) -> float:
        """Height of the sheet below the title [pt]."""
        return self.pen.height - HEAD

    def cell(self, x: float, y: float, width: float, height: float, heading: Any = "") -> Axes:
        """Axes at x from the left and y below the title [pt], with a heading over it."""
        if heading:
            self.pen.text(x + 10, self.room - y - 4, heading, va="top", bold=True, colour=style.ACCENT)
            y, height = y + 22, height - 22
        w, h = self.pen.width, self.pen.height
        return self.figure.add_axes((x / w, (self.room - y - height) / h, width / w, height / h))

    def grid(self, headings: list[Any], across: int) -> list[Axes]:
        """Cells of one size, row by row."""
        rows = -(-len(headings) // across)
        w, h = self.width / across, self.room / rows
        return [self.cell(k % across * w, k // across * h, w, h, text) for k, text in enumerate(headings)]

    def each(self, across: int, cases: Sequence[tuple[Any, Any]], draw: Callable[[Axes, Any], Any]) -> None:
        """A cell for each case (heading, model), which `draw` fills."""
        for ax, (_words, model) in zip(self.grid([words for words, _model in cases], across), cases):
            draw(ax, model)

    def finish(self) -> None:
        """Put title and headings on the sheet."""
        self.pen.flush()


def job(tap: str | Tap, hole: str, work: str = "C45", **more: Any) -> Operation:
    """An operation from its texts."""
    return Operation.parse(tap, hole, work, **more)


CROSSHEAD = "blind 8.5 mm x 28 mm"
BASE = "through 8.5 mm x 15 mm"
FOUR = ("straight taper", "spiral-point plug", "spiral-flute bottoming", "left-hand-flute plug")
"""Four taps to be told apart at a glance."""


def _bench(sheet: PlateSheet) -> None:
    one = job("M10x1.5 spiral-point plug", BASE)
    tip.draw_tip(sheet.cell(0, 0, sheet.width, 0.54 * sheet.room), one.tap, one.hole)
    toothbars.draw_toothbars(sheet.cell(0, 0.55 * sheet.room, sheet.width, 0.45 * sheet.room), one)


def _tip(sheet: PlateSheet) -> None:
    tap = Tap.parse("M10x1.5 straight plug")
    pen = tip.draw_tip(sheet.cell(0, 0, sheet.width, 0.5 * sheet.room), tap)
    _name_parts(pen, tap)
    endview.draw_endview(sheet.cell(0, 0.5 * sheet.room, sheet.width, 0.5 * sheet.room), tap)


def _name_parts(pen: Pen, tap: Tap) -> None:
    """The words for what is seen from the side."""
    view = tip.view_of(pen, tap)
    x, y, r = view.x + view.scale * view.length, view.y, view.scale * tap.thread.major / 2
    pen.text(x - 0.4 * (x - view.x), y + 0.16 * r, _("flute"), va="center", ha="center")
    dims.leader(pen, _on_a_face(view, tap), (x - 0.36 * (x - view.x), y - 0.34 * r), _("cutting face"), side="right")
    low = y - r - 26
    dims.leader(pen, (x - 70, y - 0.8 * r), (x - 48, low), _("land"), side="right")
    dims.leader(pen, (x - 148, y - 0.88 * r), (x - 130, low), _("tooth"), side="right")
    dims.leader(pen, view.place(2.6, -0.36 * tap.thread.major)[0], (view.x - 62, low), _("chamfer"), side="left")
    pen.flush()


def _on_a_face(view: tapside.SideView, tap: Tap) -> np.ndarray:
    """A place on a cutting face in sight, past the middle of the side view, where the face is widest."""
    lands = tapside.lands_of(view, solid(tap))
    foot = solid(tap).flute.face_end * np.sin(lands.foot)
    seen = (lands.lead < 0) & (lands.lead > -np.pi / 2) & (np.abs(lands.z / view.length - 0.6) < 0.1)
    row, k = np.unravel_index(int(np.argmax(np.where(seen, foot - lands.y_lead, -np.inf))), foot.shape)
    return view.place(lands.z[k], 0.6 * foot[row, k] + 0.4 * lands.y_lead[row, k])[0]


def _named(*kinds: str) -> list[tuple[Sentence, Tap]]:
    """Taps M10x1.5 of some kinds under their names."""
    taps = [Tap.parse(f"M10x1.5 {kind}") for kind in kinds]
    return [(in_words(tap), tap) for tap in taps]


def _four_taps(sheet: PlateSheet) -> None:
    sheet.each(2, _named(*FOUR), tip.draw_tip)


def _shaded_taps(sheet: PlateSheet) -> None:
    from tapkit.drawing.shaded import TapView, draw_shaded

    sheet.each(4, _named(*FOUR), lambda ax, tap: draw_shaded(ax, TapView(tap, 20, 24), labels=False))


def _three_bars(sheet: PlateSheet, jobs: list[tuple[Any, Operation]]) -> None:
    """Bars of several jobs one under another, on one scale."""
    top = toothbars.scale_for(max(float(j.tooth_loads.force.max()) for _words, j in jobs))
    teeth = 2 * -(-max(len(j.tooth_loads.number) for _words, j in jobs) // 2)
    sheet.each(1, jobs, partial(toothbars.draw_toothbars, limits=(top, teeth)))


def _load_three_chamfers(sheet: PlateSheet) -> None:
    chamfers = ("taper", "plug", "bottoming")
    named = [_("{chamfer} chamfer", chamfer=of_table(n)) for n in chamfers]
    _three_bars(sheet, [(words, job(f"M10x1.5 straight {n}", BASE)) for words, n in zip(named, chamfers)])


def _runout_and_missing_tooth(sheet: PlateSheet) -> None:
    told = _("the whole tap runs out, the dial reads {runout}, high side at flute 1", runout=length(0.06))
    lost = Faults(missing_teeth=frozenset([6]))
    cases = [(_("sound tap"), SOUND), (told, Faults(runout=0.06)), (_("tooth 6 is lost"), lost)]
    _three_bars(sheet, [(words, job("M10x1.5 spiral-point plug", BASE, faults=f)) for words, f in cases])


def _of_three(sheet: PlateSheet, draw: Callable[..., Any]) -> None:
    """What a drawing of a job shows of three flute forms."""
    taps = _named("spiral-flute bottoming", "straight plug", "spiral-point plug")
    sheet.each(1, [(words, job(tap, BASE)) for words, tap in taps], draw)


def _chip_ways(sheet: PlateSheet) -> None:
    cases = [
        (_("toward the shank"), ("M10x1.5 spiral-flute bottoming", CROSSHEAD, "C45", 22)),
        (_("ahead of the point"), ("M10x1.5 spiral-point plug", BASE, "C45", 12)),
        (_("ahead, into the floor"), ("M10x1.5 spiral-point plug", CROSSHEAD, "C45", 22)),
        (_("powder stays in the flutes"), ("M10x1.5 straight plug", CROSSHEAD, "EN-GJL-250", 22)),
    ]
    sheet.each(2, cases, lambda ax, case: holeview.draw_holeview(ax, job(*case[:3]), depth=case[3]))


def _groove(sheet: PlateSheet) -> None:
    plug, lost = "M10x1.5 straight plug", Faults(missing_teeth=frozenset([6]))
    out = _("plug, runs out, the dial reads {runout}", runout=length(0.06))
    cases = [
        (_("plug chamfer"), job(plug, BASE)),
        (_("bottoming chamfer"), job("M10x1.5 straight bottoming", BASE)),
        (_("plug, tooth 6 lost"), job(plug, BASE, faults=lost)),
        (out, job(plug, BASE, faults=Faults(runout=0.06))),
    ]
    sheet.each(2, cases, groove.draw_groove)


def _end_views(sheet: PlateSheet) -> None:
    taps = {z: Tap.make("M10x1.5", "straight", "plug", flutes=z) for z in (2, 3, 4, 6)}
    cases = [(ngettext("{count} flute", "{count} flutes", z), tap) for z, tap in taps.items()]
    sheet.each(2, cases, endview.draw_endview)


def _hole_plans(sheet: PlateSheet) -> None:
    cases = [
        (_("base, grey iron"), ("M10x1.5 straight plug", "through 8.5 mm x 18 mm", "EN-GJL-250")),
        (_("crosshead, steel"), ("M10x1.5 spiral-flute bottoming", CROSSHEAD, "C45")),
        (_("guide block, aluminium"), ("M6 spiral-flute semi-bottoming", "blind 5 mm x 16 mm", "AlCuMg1")),
        (_("spout plate, stainless"), ("M5 spiral-point plug", "through 4.2 mm x 3 mm", "X5CrNi18-10")),
    ]
    sheet.each(2, cases, lambda ax, case: holeview.draw_holeview(ax, job(*case), chips=False))


def _clues(sheet: PlateSheet) -> None:
    pen = Pen(sheet.cell(0, 0, sheet.width, sheet.room))
    headings = {
        "broke": _("What broke?"),
        "teeth": _("Which teeth?"),
        "where": _("Where in the hole?"),
        "chips": _("Where were the chips?"),
        "thread": _("How is the thread?"),
    }
    clueviews.draw_clues(pen, headings, pen.height)
    pen.flush()


def _inclination(sheet: PlateSheet) -> None:
    forms = (("spiral-flute", 30.0), ("straight", 0.0), ("left-hand-flute", -30.0))
    taps = [Tap.make("M10x1.5", form, 3, axial_rake=rake) for form, rake in forms]
    sheet.each(1, [(in_words(tap), job(tap, BASE)) for tap in taps], leanview.draw_lean)


PLATES = (
    Plate(
        "bench",
        _("The load on each tooth: M10x1.5 spiral-point plug tap, hole 8.5 mm, steel C45"),
        (9.6, 6.6),
        _bench,
        _(
            "Above, the end of an M10x1.5 spiral-point plug tap with its dimensions; below, the cutting force on each "
            "of its teeth, by flute. The first full tooth carries the most, the last the least."
        ),
    ),
    Plate(
        "tip",
        _("The working end of a tap"),
        (9.6, 7.4),
        _tip,
        _(
            "The end of an M10x1.5 plug tap from the side and on its point: chamfer, pitch, land, flute, core, cutting"
            " face, point diameter and radial rake, each with its dimension."
        ),
    ),
    Plate(
        "four-taps",
        _("Four taps M10x1.5"),
        (12.8, 8.0),
        _four_taps,
        _(
            "Side views of a straight-flute taper, a spiral-point plug, a spiral-flute bottoming and a left-hand-flute"
            " plug tap. Chamfer length and the run of the flutes tell them apart."
        ),
    ),
    Plate(
        "shaded-taps",
        _("Four taps M10x1.5 as they look"),
        (9.6, 5.6),
        _shaded_taps,
        _(
            "The same four taps as ground steel, the cutting faces tinted: straight-flute taper, spiral-point plug, "
            "spiral-flute bottoming and left-hand-flute plug."
        ),
        rendered=True,
    ),
    Plate(
        "load-three-chamfers",
        _("The load on each tooth for three chamfers: M10x1.5, hole 8.5 mm, steel C45"),
        (9.6, 8.0),
        _load_three_chamfers,
        _(
            "Cutting force on each tooth of a taper, a plug and a bottoming tap on one scale. The shorter the chamfer,"
            " the fewer teeth share the groove and the more each one carries."
        ),
    ),
    Plate(
        "runout-and-missing-tooth",
        _("A sound tap, one that runs out, and one with a lost tooth: M10x1.5 spiral-point plug"),
        (9.6, 8.0),
        _runout_and_missing_tooth,
        _(
            "The same tap three times: sound the load falls evenly, with runout one flute takes most, and behind a "
            "lost tooth the next tooth takes its load too."
        ),
    ),
    Plate(
        "edge-maps",
        _("Where the chips go: the lands unrolled, point down"),
        (9.6, 11.6),
        lambda sheet: _of_three(sheet, edgemap.draw_edgemap),
        _(
            "The unrolled lands of a spiral-flute, a straight-flute and a spiral-point tap with every tooth and its "
            "chip's arrow: toward the shank, undecided, ahead of the point."
        ),
    ),
    Plate(
        "chip-ways",
        _("Four ways of the chips"),
        (9.4, 11.0),
        _chip_ways,
        _(
            "A spiral flute lifts the chips out of a blind hole, a spiral point drives them ahead out of a through "
            "hole or into the floor of a blind one, and in a straight flute the powder of grey iron stays."
        ),
    ),
    Plate(
        "groove",
        _("One thread groove, slice by slice"),
        (12.8, 8.0),
        _groove,
        _(
            "Section of one thread groove with the slice each tooth takes, by flute: plug chamfer, bottoming chamfer, "
            "a lost tooth, and runout, which cuts the groove too large."
        ),
    ),
    Plate(
        "end-views",
        _("Flutes, lands and core"),
        (10.4, 8.0),
        _end_views,
        _(
            "Taps M10 of usual proportions with 2, 3, 4 and 6 flutes seen on their points: more flutes leave a thicker"
            " core and narrower lands."
        ),
    ),
    Plate(
        "hole-plans",
        _("Four holes of the apple press (an invented example)"),
        (9.6, 11.4),
        _hole_plans,
        _(
            "Holes in section with the tap at the end of the cut: full thread, incomplete thread under the chamfer, "
            "clearance and the drill's cone. The apple press is an invented example."
        ),
    ),
    Plate(
        "inclination",
        _("Inclination of the edge, and axial angle of the chip"),
        (9.6, 14.4),
        _inclination,
        _(
            "A chip goes over a tilted edge as paper over a tilted ruler: toward the shank with a spiral flute, ahead "
            "of the point with a left-hand flute, either way with a straight one."
        ),
    ),
    Plate(
        "clues",
        _("What may be seen when a tap has failed"),
        (9.6, 11.2),
        _clues,
        _(
            "Sketches of what may be seen: what broke, which teeth, where in the hole, where the chips were, and how "
            "the thread looks and gauges. They are drawn for this course and are not photographs."
        ),
    ),
    Plate(
        "tool-angles",
        _("Tool angles at one chamfer tooth"),
        (9.6, 9.2),
        lambda sheet: _of_three(sheet, toolangles.draw_toolangles),
        _(
            "Chamfer angle, inclination, rake and chip flow for a spiral-flute, a straight-flute and a spiral-point "
            "tap, each in the view where it is seen true."
        ),
    ),
)
