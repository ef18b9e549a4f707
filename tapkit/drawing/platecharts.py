"""Plates that are charts: torque and thickness, percent of thread, torsion."""

import numpy as np

from tapkit.drawing import dims, style
from tapkit.drawing.chart import Chart, nice_ceiling
from tapkit.drawing.pen import Box, Pen
from tapkit.drawing.plateset import Plate, PlateSheet, job
from tapkit.geometry import section
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics import toothload, torsion
from tapkit.mechanics.torque import TorqueCurve
from tapkit.messages import Number, Sentence, Unit, _, length, ngettext, of_table, torque

CHAMFERS = {
    "taper": ("bold", style.FLUTES[0]),
    "plug": ("cutting", style.FLUTES[1]),
    "bottoming": ("worn", style.FLUTES[2]),
}
"""Line and colour of each chamfer."""
PERCENTS = (50, 65, 77, 90)


def _torque_and_thickness(sheet: PlateSheet) -> None:
    thin, thick = 3.0, 24.0
    headings = [_("part {thickness} thick", thickness=length(t)) for t in (thin, thick)]
    jobs = {t: {n: job(f"M10x1.5 straight {n}", f"through 8.5 mm x {t} mm") for n in CHAMFERS} for t in (thin, thick)}
    top = nice_ceiling(1.15 * max(j.torque_curve.peak for part in jobs.values() for j in part.values()))
    for ax, t in zip(sheet.grid(headings, 2), (thin, thick)):
        pen = Pen(ax)
        chart = Chart(pen, Box(46, 46, pen.width - 14, pen.height - 30), x=(0, t + 16), y=(0, top))
        chart.x_axis(_("depth of the point, {unit}", unit=Unit("length")))
        chart.y_axis(_("sum of the tooth forces alone, {unit}", unit=Unit("torque")))
        for name, j in jobs[t].items():
            _torque_line(pen, chart, j.torque_curve, name)
        pen.flush()


def _torque_line(pen: Pen, chart: Chart, curve: TorqueCurve, name: str) -> None:
    points = chart.points(curve.depth, curve.torque)
    kind, colour = CHAMFERS[name]
    pen.line(points, kind, colour=colour)
    high = np.flatnonzero(points[:, 1] > points[:, 1].max() - 0.5)
    first, last = points[high[0]], points[high[-1]]
    told = _("{chamfer}, up to {torque}", chamfer=of_table(name), torque=torque(curve.peak, decimals=1))
    level = last[0] - first[0] > 60
    spot = (last[0] - 4, last[1] + 2, "right", "bottom") if level else (last[0] + 3, last[1] + 2, "left", "bottom")
    pen.place(told, [spot], size=style.SMALL)


def _percent_of_thread(sheet: PlateSheet) -> None:
    thread = Thread.parse("M10x1.5")
    tap = Tap.make(thread, "straight", "plug", point_diameter=7.9)
    full = job(tap, "through 8.5 mm x 15 mm").torque_curve.peak
    for ax, percent in zip(sheet.grid([_("{percent} % (custom)", percent=p) for p in PERCENTS], 4), PERCENTS):
        pen = Pen(ax)
        hole = thread.hole_for_percent(percent)
        _nut_profile(pen, thread, hole)
        peak = job(tap, f"through {hole} mm x 15 mm").torque_curve.peak
        lines = (
            _("hole {hole}", hole=length(hole, decimals=2)),
            _("{percent} % of ISO height", percent=Number(thread.percent(hole, "iso"), decimals=0)),
            _(
                "tooth forces {percent} %\nof those at {hole}",
                percent=Number(100 * peak / full, decimals=0),
                hole=length(8.5),
            ),
        )
        for k, told in enumerate(lines):
            pen.text(pen.width / 2, 76 - 17 * k, told, ha="center", va="top")
        pen.flush()


def _nut_profile(pen: Pen, thread: Thread, hole: float) -> None:
    """One groove of an internal thread in section, the basic profile in phantom lines."""
    p, scale = thread.pitch, (pen.width - 36) / (1.7 * thread.pitch)
    base = 96.0
    low = thread.major / 2 - 0.75 * thread.height

    def at(x, r):
        return np.column_stack([18 + scale * np.asarray(x), base + scale * (np.asarray(r) - low)])

    x = np.linspace(0, 1.7 * p, 1200)
    wave = (x - 0.85 * p + p / 2) % p - p / 2
    outline = toothload.tooth_outline(wave, thread)
    wall = np.maximum(outline, hole / 2)
    top = thread.major / 2 + 0.25 * p
    ring = np.vstack([at(x, wall), at([1.7 * p, 0], [top, top])])
    pen.fill(ring, style.PART)
    pen.hatch(ring, 45, 8, colour=style.SOFT_INK)
    pen.line(at(x, wall), "edge")
    pen.line(at(x, np.maximum(outline, thread.minor_diameter / 2)), "phantom", colour=style.ACCENT)


def _torsion(sheet: PlateSheet) -> None:
    core = np.linspace(0.32, 0.62, 31)
    left = sheet.cell(0, 0, 0.66 * sheet.width, sheet.room)
    pen = Pen(left)
    chart = Chart(pen, Box(52, 46, pen.width - 132, pen.height - 30), x=(0.3, 0.63), y=(0, 100))
    chart.x_axis(_("core diameter / major diameter"))
    chart.y_axis(_("peak shear stress for {torque}, {unit} (M10)", torque=torque(1.0), unit=Unit("stress")))
    for flutes, land in ((2, 0.42), (3, 0.32), (4, 0.225)):
        stress = torsion.torsion_many(diameter=10.0, core=10 * core, land=10 * land, flutes=flutes).stress_per_torque
        _stress_line(pen, chart, core, stress, ngettext("{count} flute", "{count} flutes", flutes), flutes - 1)
    _stress_line(pen, chart, core, torsion.shortcut_stress(10 * core), _("core circle alone"), 0)
    ends = sorted(pen.memory["ends"], key=lambda e: -e[1])
    for (x, y, words), at in zip(ends, dims.spaced([e[1] for e in ends], 15, 0, pen.height)):
        pen.line([(x + 2, y), (x + 12, at), (x + 16, at)], "thin")
        pen.text(x + 19, at, words, size=style.SMALL, va="center")
    pen.flush()
    _sections(sheet)


def _stress_line(pen: Pen, chart: Chart, core: np.ndarray, stress: np.ndarray, words: Sentence, k: int) -> None:
    shown = np.isfinite(stress) & (stress <= chart.y[1])
    points = chart.points(core[shown], stress[shown])
    colour = style.INK if k == 0 else style.flute_colour((1, 3, 5)[k - 1])
    pen.line(points, "phantom" if k == 0 else "bold", colour=colour)
    pen.memory.setdefault("ends", []).append((*points[-1], words))


def _sections(sheet: PlateSheet) -> None:
    """Two sections with the place of the largest shear, a slender and a stout core."""
    for k, (flutes, ratio) in enumerate(((3, 0.36), (4, 0.5))):
        h = sheet.room / 2
        ax = sheet.cell(
            0.68 * sheet.width,
            k * h,
            0.3 * sheet.width,
            h,
            _("{flutes} flutes, core {ratio} D", flutes=flutes, ratio=Number(ratio)),
        )
        pen = Pen(ax)
        tap = Tap.make("M10", "straight", "plug", flutes=flutes, core_diameter=10 * ratio, radial_rake=0)
        scale = 0.40 * min(pen.width, pen.height) / 5
        centre = np.array([pen.width / 2, pen.height / 2 + 4])
        outline = centre + scale * section.tap_outline(tap)
        pen.fill(outline, style.STEEL)
        pen.hatch(outline, 45, 8, colour=style.SOFT_INK)
        pen.line(outline, "edge", closed=True)
        for j in range(flutes):
            a = 2 * np.pi * j / flutes
            x, y = centre + scale * 5 * ratio * np.array([np.cos(a), np.sin(a)])
            pen.fill(style.flute_mark(1, x, y, 8), style.WARN, z=4)
        pen.text(pen.width / 2, 2, _("dots: largest shear"), ha="center", size=style.SMALL, colour=style.WARN)
        pen.flush()


PLATES = (
    Plate(
        "torque-and-thickness",
        _("Sum of the tooth forces alone: M10x1.5, hole 8.5 mm, steel C45"),
        (9.6, 5.2),
        _torque_and_thickness,
        _(
            "The sum of the tooth forces alone, without crowding chips and friction. In a thin part the long chamfer "
            "never cuts with all its teeth at once, and its sum is the least; in a thick part its thinner chips cost "
            "more, and its sum is the most. A published formula says less for it there: which is right is open."
        ),
    ),
    Plate(
        "percent-of-thread",
        _("Percent of thread: M10x1.5, plug chamfer, steel C45"),
        (9.6, 3.7),
        _percent_of_thread,
        _(
            "Internal threads in section at 50, 65, 77 and 90 percent by handbook custom, with the hole, the percent "
            "of the ISO height and the sum of the tooth forces alone, as torque; the dash-dotted line is the "
            "basic profile."
        ),
    ),
    Plate(
        "torsion",
        _("How a fluted section bears torsion"),
        (9.6, 5.4),
        _torsion,
        _(
            "Peak shear stress for 1 N·m in M10 taps against the core, with 2, 3 and 4 flutes. The textbook sum on the"
            " core circle alone overstates it, for the lands carry too."
        ),
    ),
)
