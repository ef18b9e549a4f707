"""`tapkit report`: everything about one tapping job, as text for people or as JSON."""

from __future__ import annotations

import argparse
import json
import math
import re
from typing import Any

from tapkit import door, units
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation
from tapkit.parameters import Parameter, find, used_in

EXAMPLES = {"speed": ': "10 m/min" or "30 sfm"', "runout": ': "0.03 mm @ 0 deg", the angle from flute 1'}
"""What is written for an option, where its words of help leave it open."""

CAUTION = (
    "These numbers teach; they do not set a machine. Follow the machine's manual, the shop's rules, local "
    "regulations and your instructor or a qualified machinist."
)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the options of `tapkit report`."""
    parser.add_argument("tap", help='thread, flute form and chamfer: "M10x1.5 spiral-point plug"')
    parser.add_argument("--hole", required=True, help='"through 8.5 mm x 15 mm" or "blind 8.5 mm x 25 mm"')
    parser.add_argument("--work", default="C45", help="workpiece, by name or number (default C45)")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument("--units", choices=("metric", "inch"), default="metric", help="units of the text")
    group = parser.add_argument_group("geometry and condition of the tap")
    for one in used_in("report"):
        group.add_argument(_name(one), dest=one.key, help=f"{one.help}{EXAMPLES.get(one.key, '')}".replace("%", "%%"))
    group.add_argument(
        "--missing-tooth", action="append", default=[], metavar="N", help="a lost tooth, from the point (repeatable)"
    )


def run(args: argparse.Namespace) -> int:
    """Print the report; ValueError for input that cannot be used."""
    job = job_from(args)
    print(json.dumps(as_dict(job), indent=2, ensure_ascii=False) if args.json else as_text(job, args.units))
    return 0


def job_from(args: argparse.Namespace) -> Operation:
    """The operation that the command line asks for."""
    given: dict[str, dict[str, Any]] = {"tap": {}, "faults": {}, "job": {}}
    for one in used_in("report"):
        written = getattr(args, one.key)
        if written is None:
            continue
        if one.key == "runout":
            given["faults"] |= zip(("runout", "runout_angle"), _option(written, one, read_runout))
        else:
            given[one.owner][one.name] = _option(written, one, one.read)
    tap = Tap.parse(args.tap, chamfer=given["tap"].pop("chamfer_threads", None), **given["tap"])
    lost = frozenset(_option(n, find("missing"), _tooth) for n in args.missing_tooth)
    faults = Faults(**given["faults"], missing_teeth=lost)
    return Operation.parse(tap, Hole.parse(args.hole), Workpiece.parse(args.work), faults=faults, **given["job"])


def read_runout(text: str) -> tuple[float, float]:
    """Runout [mm] and the angle of its high side [deg] from "0.03 mm @ 0 deg" or "0.03 mm".

    >>> read_runout("0.03 mm @ 120 deg")
    (0.03, 120.0)
    """
    size, _, angle = text.partition("@")
    return door.length(size.strip()), door.angle(angle.strip()) if angle.strip() else 0.0


def _name(one: Parameter) -> str:
    """The option of a parameter."""
    return "--missing-tooth" if one.key == "missing" else "--" + one.key.replace("_", "-")


def _option(written: str, one: Parameter, read: Any) -> Any:
    """An option's value read, its name put before any complaint."""
    try:
        return read(written)
    except ValueError as error:
        raise ValueError(f"{_name(one)} {written!r}: {error}") from None


def _tooth(text: str) -> int:
    if not re.fullmatch(r"\d{1,4}", text.strip()):
        raise ValueError("a tooth is named by its number from the point; write 3")
    return int(text)


# --- as data ----------------------------------------------------------------------------------------


def as_dict(job: Operation) -> dict[str, Any]:
    """The report as plain data, units in the keys; what `--json` prints."""
    tap, thread, flow = job.tap, job.tap.thread, job.chip_flow
    return {
        "thread": {
            "designation": thread.designation,
            "major_mm": thread.major,
            "pitch_mm": thread.pitch,
            "pitch_diameter_mm": thread.pitch_diameter,
            "minor_diameter_mm": thread.minor_diameter,
        },
        "tap": {
            "name": tap.name,
            "flutes": tap.flutes,
            "chamfer_threads": tap.chamfer_threads,
            "chamfer_length_mm": tap.chamfer_length,
            "chamfer_angle_deg": tap.chamfer_angle,
            "point_diameter_mm": tap.point_diameter,
            "radial_rake_deg": tap.radial_rake,
            "axial_rake_deg": tap.axial_rake,
            "core_diameter_mm": tap.core_diameter,
        },
        "percent_thread": {
            "custom": thread.percent(job.hole.diameter),
            "iso": thread.percent(job.hole.diameter, "iso"),
        },
        "teeth": _teeth(job),
        "groove_area_mm2": job.groove_area,
        "peak_torque_Nm": job.torque_curve.peak,
        "torque_curve": {
            "depth_mm": job.torque_curve.depth.tolist(),
            "torque_Nm": job.torque_curve.torque.tolist(),
        },
        "chip_flow": {
            "inclination_deg": flow.inclination,
            "normal_rake_deg": flow.normal_rake,
            "axial_angle_deg": flow.axial_angle,
            "direction": flow.direction,
        },
        "chip_room": _chip_room(job),
        "section": {"J_mm4": job.section.J, "stress_MPa_per_Nm": job.section.stress_per_torque},
        "breakage": {"torque_Nm": job.breakage.torque, "margin": _finite(job.breakage.margin)},
        "cautions": list(job.cautions),
    }


def _teeth(job: Operation) -> list[dict[str, Any]]:
    loads = job.tooth_loads
    return [
        {
            "number": int(number),
            "flute": int(flute),
            "position_mm": float(position),
            "area_mm2": float(area),
            "width_mm": float(width),
            "thickness_mm": float(thickness),
            "force_N": float(force),
            "rubbing": bool(rubbing),
        }
        for number, flute, position, area, width, thickness, _, force, rubbing, _ in zip(*loads)
    ]


def _finite(value: float) -> float | None:
    """A number JSON can hold: null where there is no limit, as where nothing is cut."""
    return value if math.isfinite(value) else None


def _chip_room(job: Operation) -> dict[str, Any]:
    room = job.chip_room
    return {
        "fate": room.fate,
        "goes": room.goes,
        "chip_form": room.bulking.printed,
        "bulking_low": room.bulking.low,
        "bulking_high": room.bulking.high,
        "packs_at_mm": room.packs_at,
        "may_pack_at_mm": room.may_pack_at,
        "full_ratio": _finite(room.full_ratio),
        "depth_mm": room.depth.tolist(),
        "solid_mm3": room.solid.tolist(),
        "loose_low_mm3": room.loose_low.tolist(),
        "loose_high_mm3": room.loose_high.tolist(),
        "room_flutes_mm3": room.room_flutes.tolist(),
        "room_below_mm3": room.room_below.tolist(),
    }


# --- as text ----------------------------------------------------------------------------------------


def as_text(job: Operation, system: str = "metric") -> str:
    """The report as text for people."""

    def show(value: float, kind: str, decimals: int | None = None) -> str:
        return units.show(value, kind, system, decimals=decimals)

    parts = [_heading(job, show), _tooth_table(job, show, system), _results(job, show, system)]
    if job.cautions:
        said = (units.in_system(caution, system) for caution in job.cautions)
        parts.append("Mind\n" + "\n".join(f"  - {c[0].upper()}{c[1:]}." for c in said))
    return "\n\n".join([*parts, CAUTION])


def _heading(job: Operation, show: Any) -> str:
    tap, thread, hole = job.tap, job.tap.thread, job.hole
    din = f"DIN 2197 form {tap.din_form}" if tap.din_form else "no DIN 2197 form"
    deep = "part" if hole.is_through else "drilled"
    return "\n".join(
        (
            f"{thread.designation} {tap.name} tap in {job.workpiece.printed}",
            f"  chamfer   {tap.chamfer_threads:g} threads, {show(tap.chamfer_length, 'length')} long at "
            f"{show(tap.chamfer_angle, 'angle')} (US {tap.chamfer_name}; British {tap.british_name}; {din})",
            f"  tap       {tap.flutes} flutes, point {show(tap.point_diameter, 'length')}, core "
            f"{show(tap.core_diameter, 'length')}, radial rake {show(tap.radial_rake, 'angle')}, axial rake "
            f"{show(tap.axial_rake, 'angle')}",
            f"  hole      {hole.kind} {show(hole.diameter, 'length')}, {deep} {show(hole.depth, 'length')}: "
            f"{thread.percent(hole.diameter):.0f} % of thread by handbook custom, "
            f"{thread.percent(hole.diameter, 'iso'):.0f} % of the ISO height",
        )
    )


def _tooth_table(job: Operation, show: Any, system: str) -> str:
    loads = job.tooth_loads
    lines = ["Tooth  flute  from the point    area of chip   thickness      force"]
    for n, flute, z, area, _, h, _, force, rubbing, lost in zip(*loads):
        note = "  missing" if lost else "  rubs" if rubbing else "" if area > 0 else "  no contact"
        where, chip, thick = (
            show(z, "length", 2 if system == "metric" else 3),
            show(area, "area", 4 if system == "metric" else 6),
            show(h, "length", 4),
        )
        lines.append(f"{n:5d}  {flute:5d}  {where:>14}  {chip:>14}  {thick:>10}  {show(force, 'force'):>9}{note}")
    return "\n".join(lines)


def _results(job: Operation, show: Any, system: str) -> str:
    curve, flow, section, broken = job.torque_curve, job.chip_flow, job.section, job.breakage
    deep = show(curve.peak_depth, "length", 1 if system == "metric" else 2)
    friction, shear = assumption("friction_factor"), assumption("shear_at_breakage")
    margin = f"{broken.margin:.1f} times" if math.isfinite(broken.margin) else "far above"
    return "\n".join(
        (
            f"Torque    {show(curve.peak, 'torque')} at most, with the point {deep} deep; cutting only, "
            f"most measured taps lie at 1.0 to {friction.high:g} times it, worn ones above",
            f"Chips     {flow.direction}: inclination {show(flow.inclination, 'angle')}, axial angle "
            f"{show(flow.axial_angle, 'angle')}, normal rake {show(flow.normal_rake, 'angle')}",
            f"Chip room {job.chip_room.goes}",
            f"Strength  breaks near {show(broken.torque, 'torque')}, {margin} the peak torque, if the "
            f"steel bears {show(job.shear_at_breakage, 'stress')} in shear",
            f"          (assumed; {shear.low:g} to {shear.high:g} N/mm² are possible; helix, neck and root left out);",
            f"          {section.stress_per_torque:.1f} N/mm² at the flute bottom for each N·m",
        )
    )
