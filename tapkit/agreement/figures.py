"""Our side of each comparison: one function for each kind of value, called with the text of its case."""

import math
import re
from collections.abc import Callable

import numpy as np

from tapkit import door, tables
from tapkit.agreement import torquefigures as torque_beside
from tapkit.agreement.row import NOT_COMPUTED
from tapkit.agreement.torquefigures import Count, Range
from tapkit.geometry.designation import number_sizes
from tapkit.geometry.hole import Hole
from tapkit.geometry.proportions import POINT_ALLOWANCE
from tapkit.geometry.section import Flute
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import chamfer_name
from tapkit.geometry.thread import Thread
from tapkit.mechanics import chipflow, colwell, force, rake, sideforce, torque, torsion
from tapkit.mechanics.toothload import groove_area, tooth_slices
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation

M10 = Thread.parse("M10x1.5")


def numbers_in(case: str) -> list[float]:
    """The numbers in a case, in order.

    >>> numbers_in("γp 10°, γf -12°, κ 8°")
    [10.0, -12.0, 8.0]
    """
    return [float(n) for n in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?", case)]


def profile(case: str) -> float:
    """Height, or distance of pitch or minor diameter from the major, in pitches."""
    below = {"pitch diameter": M10.pitch_diameter, "minor diameter": M10.minor_diameter}
    return M10.height / M10.pitch if case == "height" else (M10.major - below[case]) / M10.pitch


def groove_share(case: str) -> float:
    """Area of the groove above a hole, in P²."""
    hole = M10.minor_diameter if case == "minor diameter" else M10.major - M10.pitch
    return groove_area(M10, hole) / M10.pitch**2


def groove_width(case: str) -> float:
    """Width of the groove on the pitch diameter [mm]."""
    thread = Thread.parse(case)
    return thread.groove_width(thread.pitch_diameter / 2)


def chip_areas(case: str) -> np.ndarray:
    """Areas of the chips of an M10x1.5 tap, point and hole 8.5 mm, of so many flutes and threads [mm2]."""
    flutes, threads = numbers_in(case)
    tap = Tap.make(M10, chamfer=threads, flutes=int(flutes), point_diameter=8.5)
    return tooth_slices(tap, Hole.parse("through 8.5 mm x 15 mm")).area


def edge_angle(function: Callable[..., float]) -> Callable[[str], float]:
    """A tool angle of the chamfer edge [deg], from γ_p, γ_f and κ."""

    def angle(case: str) -> float:
        radial, axial, chamfer = numbers_in(case)
        return float(function(radial_rake=radial, axial_rake=axial, chamfer_angle=chamfer))

    return angle


def drill_cone(case: str) -> float:
    """Depth of a drill's cone, in diameters."""
    return Hole(kind="blind", diameter=1.0, depth=5.0, drill_angle=numbers_in(case)[0]).cone_depth


def limit(case: str) -> float:
    """A limit of size [mm], "M10x1.5 6H pitch, most"."""
    name, _, which = case.partition(" 6H ")
    found = Thread.parse(name).limits
    return dict(zip(("minor, least", "minor, most", "pitch, least", "pitch, most"), found))[which]


def chamfer_angle(case: str) -> float:
    """Angle of a chamfer from the usual point diameter [deg]."""
    return Tap.make(M10, chamfer=numbers_in(case)[-1]).chamfer_angle


def steep_spiral_point(case: str) -> str:
    """Where a spiral point sends its chips on the chamfers of these DIN 2197 forms."""
    forms = re.findall(r"\b[A-F]\b", case)
    found = set()
    for row in tables.rows("din2197"):
        if row["form"] in forms:
            threads = sum(tables.span(row["threads"])) / 2
            kappa = math.degrees(math.atan(POINT_ALLOWANCE / 2 / threads))
            found.add(chipflow.chip_flow(radial_rake=10, axial_rake=-12, chamfer_angle=kappa).direction)
    return ", ".join(sorted(found))


def percent_of_thread(case: str, basis: str = "custom") -> float:
    """Percent of thread of "thread, drill size"."""
    thread, _, drill = case.partition(", drill ")
    return Thread.parse(thread).percent(door.length(drill), basis)


def number_size(case: str) -> float:
    """Diameter of a number size [inch]."""
    return number_sizes()[int(case.lstrip("#"))]


def _plug(
    thread: str | Thread, hole: str | Hole, work: str = "C45", chamfer: float | str = "plug", **more: float
) -> Operation:
    metal = Workpiece.parse(work)
    return Operation.parse(Tap.make(thread, "straight", chamfer, metal=metal, **more), hole, metal)


def handbook_rule(case: str) -> float:
    """The rule's torque over ours, with the rule's k_c taken at our chip thickness and no factors on either side."""
    thread, _, hole = case.partition(", hole ")
    job = _plug(thread, Hole(kind="through", diameter=door.length(hole), depth=200.0)).with_(tool_factor=1.0)
    h = job.slices.thickness[int(np.argmax(job.tooth_loads.force))]
    specific = job.workpiece.kc11 * h**-job.workpiece.mc
    rule = torque.handbook_torque(pitch=job.tap.thread.pitch, major=job.tap.thread.major, specific_force=specific)
    return rule / (job.torque_curve.peak / job.force_factor)


def torque_ratio(case: str) -> float:
    """Torque at 100 % over that at 50 % of thread."""
    thread = Thread.parse(case)
    holes = [Hole(kind="through", diameter=thread.hole_for_percent(p), depth=200.0) for p in (100, 50)]
    point = min(h.diameter for h in holes) - 0.01
    full, half = (_plug(thread, hole, point_diameter=point).torque_curve.peak for hole in holes)
    return full / half


def _specific_force(name: str, source: str, h: float) -> float:
    work = Workpiece.parse(name, source)
    return float(force.cutting_force(width=1.0, thickness=h, kc11=work.kc11, mc=work.mc)) / h


def unit_power(case: str) -> float:
    """Specific cutting force as unit power [W·s/mm3], 1000 N/mm2 being 1 W·s/mm3."""
    name, source, h = (part.strip() for part in case.split(","))
    return _specific_force(name, source.split()[-1], numbers_in(h)[0]) / 1000


def source_ratio(case: str) -> float:
    """Specific cutting force of source A over that of source B."""
    name, h = (part.strip() for part in case.split(","))
    return _specific_force(name, "A", numbers_in(h)[0]) / _specific_force(name, "B", numbers_in(h)[0])


def grooved_shaft(case: str) -> float:
    """Peak |∇φ| of a round shaft with one round groove centred on its rim, in radii."""
    b = numbers_in(case)[0]
    beta = 2 * math.asin(b / 2)
    arc = Flute(*(np.array([v]) for v in (beta, 1 / b, b * (math.pi - beta) / 2, 1 - b)), np.array([1.0]))
    return float(torsion.solve_arc(np.array([1.0]), arc, torsion.BASIS)[1][0])


def thrust_ratio(case: str) -> float:
    """Radial thrust over cutting force."""
    friction, gamma = numbers_in(case)
    flow = chipflow.chip_flow(radial_rake=gamma, axial_rake=0.0, chamfer_angle=1e-6)
    return -float(sideforce.force_ratios(friction, flow.vector, radial_rake=gamma, axial_rake=0.0)[0])


def rake_ratio(case: str) -> float:
    """Torque at 15° of radial rake over that at 5°."""
    sharp, blunt = (_plug(case, "through 8.5 mm x 30 mm", radial_rake=g).torque_curve.peak for g in (15.0, 5.0))
    return sharp / blunt


def hardest_tooth_ratio(case: str) -> float:
    """Duty of the hardest tooth of a bottoming tap over that of a plug tap."""
    return _plug(case, "through 8.5 mm x 15 mm", chamfer="bottoming").duty.hardest_relative


def long_chamfer_ratio(case: str) -> float:
    """Torque with 9 threads of chamfer over that with 1.5, in a part of some thickness."""
    hole = Hole(kind="through", diameter=6.8, depth=numbers_in(case)[-1])
    long, short = (_plug("M8x1.25", hole, chamfer=n).torque_curve.peak for n in (9.0, 1.5))
    return long / short


def rules_apart(case: str) -> float:
    """Angle between the chips of Stabler's rule and Colwell's chord [deg]."""
    job = Operation.parse(case, "through 8.5 mm x 15 mm")
    return colwell.angle_between(job.chip_flow, job.chip_flow_colwell)


def most_worked_tooth(case: str) -> str:
    """Where the tooth with the most duty stands."""
    tap, _, work = case.partition(" in ")
    job = Operation.parse(tap, "through 10.5 mm x 20 mm", work)
    tooth = int(np.argmax(job.tooth_duty.work))
    share = job.slices.position[tooth] / job.tap.chamfer_length
    return "at the change from cone to cylinder" if share > 0.85 else f"{share:.0%} of the way up the chamfer"


FIGURES: dict[str, Callable[[str], float | str | Range | Count]] = {
    "profile": profile,
    "groove share": groove_share,
    "groove width": groove_width,
    "largest chip": lambda case: float(chip_areas(case).max()),
    "all chips": lambda case: float(chip_areas(case).sum()),
    "orthogonal rake": edge_angle(rake.orthogonal_rake),
    "normal rake": edge_angle(rake.normal_rake),
    "inclination": edge_angle(rake.inclination),
    "drill cone": drill_cone,
    "limit": limit,
    "chamfer angle": chamfer_angle,
    "chamfer name": lambda case: chamfer_name(numbers_in(case)[0]),
    "steep spiral point": steep_spiral_point,
    "percent of thread": percent_of_thread,
    "percent of the ISO height": lambda case: percent_of_thread(case, "iso"),
    "number size": number_size,
    "handbook rule": handbook_rule,
    "torque, 100 to 50 % of thread": torque_ratio,
    "unit power": unit_power,
    "source A over B": source_ratio,
    "grooved shaft, peak slope": grooved_shaft,
    "thrust over cutting force": thrust_ratio,
    "torque at 15° over 5° of radial rake": rake_ratio,
    "hardest tooth, bottoming over plug": hardest_tooth_ratio,
    "torque, 9 over 1.5 threads": long_chamfer_ratio,
    "measured torque over the sum of our tooth forces": torque_beside.over_the_sum,
    "two chip-flow rules apart": rules_apart,
    "most worked tooth": most_worked_tooth,
    "share that leads": torque_beside.leading_share,
    "torque": torque_beside.expected,
    "torque against a straight tap of 5 threads": torque_beside.against_plug,
    "flute form with the least torque": torque_beside.smallest,
    "torque along the depth": torque_beside.shape,
    "torque, 72 over 60 % of thread": torque_beside.at_percents,
    "forming tap against a cutting tap": lambda _case: NOT_COMPUTED,
    "every tap and size": torque_beside.of_metal,
    "every metal and size": torque_beside.of_tap,
}
"""Name of a figure in the table `published`: our value for the text of a case."""
