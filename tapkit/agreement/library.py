"""Reference libraries: run where they are installed, else their stored values, named as stored.

None of them is needed by tapkit; they come with its test packages.
"""

import importlib
from collections.abc import Callable
from importlib import metadata
from typing import NamedTuple

import numpy as np

from tapkit import tables
from tapkit.agreement.figures import numbers_in
from tapkit.geometry import section
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics import torsion
from tapkit.mechanics.toothload import SOUND, envelope, tooth_slices


class Reference(NamedTuple):
    """One library's value beside ours: figure, case, both values, unit, percent allowed, the source
    in words, and the `kind` of row."""

    figure: str
    case: str
    says: float
    ours: float
    unit: str
    within: float
    source: str
    kind: str = ""


def references(live: bool = True) -> list[Reference]:
    """Every stored row, the library's value computed now where the library is there and `live` is wished."""
    found = []
    for row in tables.rows("published_libraries"):
        library, figure, case = row["library"], row["figure"], row["case"]
        value, how = float(row["says"]), "stored"
        if live and _installed(library):
            value, how = LIVE[library](figure, case), f"{metadata.version(library)}, run now"
        source = f"{library} {how}" if how != "stored" else f"{library}, stored: {row['source']}"
        found.append(
            Reference(figure, case, value, OURS[figure](case), row["unit"], float(row["within"]), source, row["kind"])
        )
    return found


def _installed(library: str) -> bool:
    try:
        importlib.import_module(library.replace("-", "_"))
        metadata.version(library)
    except Exception:  # a broken library is as good as none
        return False
    return True


def _tap(case: str) -> tuple[Tap, Hole]:
    flutes, threads = numbers_in(case)[:2]
    tap = Tap.make("M10x1.5", chamfer=threads, flutes=int(flutes), point_diameter=8.5)
    return tap, Hole.parse("through 8.5 mm x 15 mm")


def _measures(case: str) -> dict[str, float]:
    flutes, core, land = numbers_in(case)
    return dict(diameter=10.0, core=10 * core, land=10 * land, flutes=int(flutes))


# --- ours -------------------------------------------------------------------------------------------


def _chip_area(case: str) -> float:
    return float(tooth_slices(*_tap(case)).area[int(numbers_in(case)[2]) - 1])


def _chip_volume(case: str) -> float:
    slices, tooth = tooth_slices(*_tap(case)), int(numbers_in(case)[2]) - 1
    return float(2 * np.pi * slices.radius[tooth] * slices.area[tooth])


def _limit(which: int) -> Callable[[str], float]:
    return lambda case: Thread.parse(case).limits[which]


OURS: dict[str, Callable[[str], float]] = {
    "chip of a tooth": _chip_area,
    "chip of a tooth in one turn": _chip_volume,
    "torsion constant": lambda case: float(torsion.torsion(**_measures(case)).J),
    "peak shear stress for 1 N·m": lambda case: float(torsion.torsion(**_measures(case)).stress_per_torque),
    "minor diameter, least": _limit(0),
    "minor diameter, most": _limit(1),
    "pitch diameter, least": _limit(2),
    "pitch diameter, most": _limit(3),
}


# --- theirs -----------------------------------------------------------------------------------------


def tooth_polygon(tap: Tap, hole: Hole, tooth: int) -> np.ndarray:
    """Cross-section of one tooth's chip as a closed polygon of (radius, axial) [mm]."""
    env = envelope(tap, hole, SOUND)
    inner, outer = env.swept[tooth - 1], env.swept[tooth]
    there = np.concatenate([[0], np.flatnonzero(outer - inner > 1e-12), [len(env.x) - 1]])
    first, last = there[1] - 1, there[-2] + 2
    x, inner, outer = env.x[first:last], inner[first:last], outer[first:last]
    return np.column_stack([np.concatenate([outer, inner[::-1]]), np.concatenate([x, x[::-1]])])


def _by_shapely(figure: str, case: str) -> float:
    from shapely.geometry import Polygon, box
    from shapely.ops import unary_union

    tap, hole = _tap(case)
    d, p, slope = tap.thread.major, tap.thread.pitch, np.tan(np.radians(tap.chamfer_angle))
    flat, foot = p / 16, d / 2 - (p / 2 - p / 16) * np.sqrt(3)
    vee = Polygon([(-p / 2, 0), (-p / 2, foot), (-flat, d / 2), (flat, d / 2), (p / 2, foot), (p / 2, 0)])
    gone, area = box(-p / 2, 0, p / 2, hole.diameter / 2), 0.0
    for k in range(int(numbers_in(case)[2])):
        start = tap.point_diameter / 2 + (1 + k) * tap.tooth_spacing * slope
        under = Polygon([(-p, -99), (-p, start - p * slope), (p, start + p * slope), (p, -99)])
        chip = vee.intersection(under).difference(gone)
        area, gone = chip.area, unary_union([gone, chip])
    return float(area)


def _by_manifold(figure: str, case: str) -> float:
    import manifold3d

    shape = manifold3d.CrossSection([tooth_polygon(*_tap(case), int(numbers_in(case)[2]))], manifold3d.FillRule.NonZero)
    return float(manifold3d.Manifold.revolve(shape, 1440).volume())


def _by_finite_elements(figure: str, case: str) -> float:
    from sectionproperties.analysis import Section
    from sectionproperties.pre import Geometry
    from shapely.geometry import Polygon

    outline = section.outline(**_measures(case), flute_points=71, land_points=15)
    found = Section(Geometry(Polygon(outline[:-1])).create_mesh(mesh_sizes=[0.15]))
    found.calculate_geometric_properties()
    found.calculate_warping_properties()
    if figure == "torsion constant":
        return float(found.get_j())
    return float(np.max(found.calculate_stress(mzz=1000.0).get_stress()[0]["sig_zxy_mzz"]))


def _by_thread_library(figure: str, case: str) -> float:
    from screw_thread_lib import data

    field = {"minor": "D1", "pitch": "D2"}[figure.split()[0]] + {"least": "min", "most": "max"}[figure.split()[-1]]
    key = case.replace("x", "-") if case.startswith("M") else case
    rows = data.ASME_M_6g6H_dict if case.startswith("M") else data.ASME_UN_2A2B_dict
    return 25.4 * rows[key][field]


LIVE: dict[str, Callable[[str, str], float]] = {
    "shapely": _by_shapely,
    "manifold3d": _by_manifold,
    "sectionproperties": _by_finite_elements,
    "screw-thread-lib": _by_thread_library,
}
