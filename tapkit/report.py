"""`tapkit report`: everything about one tapping job, as text for people or as JSON."""

import argparse
import json
import math
import re
import sys
from functools import partial
from typing import Any

from tapkit import batch, door, drawer, parameters, setupline, tables
from tapkit.geometry.hole import EXAMPLE as HOLE
from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.mechanics.toothload import Faults, check_fit
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import Sentence, _, length, of_table, said, threads_of
from tapkit.operation import Operation
from tapkit.parameters import Parameter, find, used_in
from tapkit.planning.speed import cutting_power, spindle_speed
from tapkit.reporttext import as_text

EXAMPLES = {
    "speed": _('{help}: "10 m/min" or "30 sfm"', help="{help}"),
    "runout": _('{help}: "0.03 mm @ 0 deg", the angle from flute 1', help="{help}"),
}
"""What is written for an option, where its words of help leave it open."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the options of `tapkit report`."""
    configure_job(parser)
    parser.add_argument("--json", action="store_true", help=str(_("print JSON")))
    jobs = _("a table of jobs (CSV) with the columns tap, hole, work and any option by its name; written to --out")
    parser.add_argument("--batch", metavar="FILE", help=str(jobs))
    parser.add_argument(
        "--out", metavar="FILE", help=str(_("the table to write, with results and errors beside each job"))
    )


def configure_job(parser: argparse.ArgumentParser) -> None:
    """Add the options that say which job is meant, and in which units to speak of it."""
    tap = _(
        'thread, flute form and chamfer: "M10x1.5 spiral-point plug"; or a whole set-up in one line: "{line}"',
        line=setupline.EXAMPLE,
    )
    parser.add_argument("tap", nargs="?", default="", help=str(tap))
    hole = _('"through 8.5 mm x 15 mm" or "blind #7 x 0.75 in"; a drill may be named: #7, F, 27/64')
    parser.add_argument("--hole", help=str(hole))
    parser.add_argument("--work", help=str(_("workpiece, by name or number (default C45)")))
    units_help = _("units of the text, and of numbers that bear none")
    parser.add_argument("--units", choices=("metric", "inch"), default="metric", help=str(units_help))
    own = _("a spreadsheet of one's own taps; TAP is then the name of one of them")
    parser.add_argument("--drawer", metavar="FILE", help=str(own))
    group = parser.add_argument_group(str(_("geometry and condition of the tap")))
    for one in used_in("report"):
        group.add_argument(_name(one), dest=one.key, help=_help(one))
    lost = str(_("a lost tooth, from the point (repeatable)"))
    group.add_argument("--missing-tooth", action="append", default=[], metavar="N", help=lost)


def _help(one: Parameter) -> str:
    text = str(of_table(one.help))
    return (
        str(EXAMPLES[one.key]).format(help=text).replace("%", "%%") if one.key in EXAMPLES else text.replace("%", "%%")
    )


def run(args: argparse.Namespace) -> int:
    """Print the report, or work through a table of jobs; ValueError for input that cannot be used."""
    if args.batch:
        return _batch(args)
    job = job_of_arguments(args)
    if args.json:
        print(json.dumps(as_dict(job), indent=2, ensure_ascii=False))
    else:
        print(as_text(job, args.units, _assumed(args, job)))
    return 0


def _assumed(args: argparse.Namespace, job: Operation) -> Sentence | None:
    """That a plug chamfer was taken, where none was named."""
    named = re.split("[|,]", args.tap)[0]
    if args.drawer or args.chamfer is not None or "chamfer" in args.tap or "chamfer" in setupline.tap_values(named):
        return None
    row = tables.row("chamfers", us=job.tap.chamfer_name)
    low, high = row["threads"].split("-")
    return _(
        "no chamfer was named, so {taken} are taken: a US plug chamfer, which has {low} to {high} ({source})",
        taken=threads_of(job.tap.chamfer_threads), low=low, high=high, source=row["source"],
    )  # fmt: skip


def _batch(args: argparse.Namespace) -> int:
    if not args.out:
        raise ValueError(_("--batch {file} has nowhere to go; write --out results.csv", file=args.batch))
    for sentence in batch.run(args.batch, args.out, args.units, _progress):
        print(said(sentence, args.units), file=sys.stderr)
    return 0


BAR = 40
"""Letters of a bar of progress."""


def _progress(done: int, of: int) -> None:
    """A bar on the last line of a terminal; nothing where the output goes elsewhere."""
    if sys.stderr.isatty():
        bar = "#" * round(BAR * done / of)
        print(f"\r[{bar:-<{BAR}}] {100 * done // of} %", end="" if done < of else "\n", file=sys.stderr, flush=True)


def job_of_arguments(args: argparse.Namespace) -> Operation:
    """The operation that the command line asks for: of a set-up line, or of a tap and a hole; options come on top."""
    if not args.tap:
        raise ValueError(_("no tap is given; write one like {example}", example=door.quoted(setupline.EXAMPLE)))
    if setupline.is_line(args.tap):
        return _with_options(args, setupline.values(args.tap, args.units))
    if args.hole is None:
        raise ValueError(
            _(
                "no hole is given; write --hole {hole}, or the whole set-up in one line like {line}",
                hole=HOLE,
                line=door.quoted(setupline.EXAMPLE),
            )
        )
    if args.drawer:
        return _with_options(args, dict(_own_tap(args).values))
    given = _given(args)
    work = Workpiece.parse(args.work or "C45")
    tap = Tap.parse(args.tap, metal=work, chamfer=given["tap"].pop("chamfer_threads", None), **given["tap"])
    faults = Faults(**given["faults"])
    hole = Hole.parse(args.hole, args.units)
    try:
        return Operation(tap=tap, hole=hole, workpiece=work, faults=faults, **given["job"])
    except ValueError as error:
        raise _in_other_units(args, tap, hole, error) from None


def _own_tap(args: argparse.Namespace) -> drawer.OwnTap:
    """A tap of the drawer by its name; what is wrong with other rows is nobody's matter here."""
    found = drawer.contents(args.drawer, args.units)
    if args.tap in found.taps:
        return found.taps[args.tap]
    told = dict(name=door.quoted(args.tap), file=args.drawer)
    if found.problems:
        raise ValueError(_("no tap {name} can be read in {file}: {problem}", problem=found.problems[0], **told))
    known = ", ".join(found.taps)
    raise ValueError(_("there is no tap {name} in {file}; there are: {known}", known=known, **told))


def _with_options(args: argparse.Namespace, values: dict[str, Any]) -> Operation:
    """The job of values by key, with the options on top."""
    values |= {find(name, owner).key: value for owner, some in _given(args).items() for name, value in some.items()}
    if args.hole is not None:
        hole = Hole.parse(args.hole, args.units)
        values |= {"kind": hole.kind, "hole": hole.diameter, "depth": hole.depth}
    return parameters.job_from(values if args.work is None else values | {"work": args.work})


def _given(args: argparse.Namespace) -> dict[str, dict[str, Any]]:
    """The values of the options that were given, by owner and name."""
    given: dict[str, dict[str, Any]] = {"tap": {}, "faults": {}, "job": {}}
    for one in used_in("report"):
        written = getattr(args, one.key)
        if written is None:
            continue
        if one.key == "runout":
            read = _option(written, one, lambda text: read_runout(text, args.units))
            given["faults"] |= zip(("runout", "runout_angle"), read)
        else:
            given[one.owner][one.name] = _option(written, one, partial(one.read, system=args.units))
    if args.missing_tooth:
        given["faults"]["missing_teeth"] = frozenset(_option(n, find("missing"), _tooth) for n in args.missing_tooth)
    return given


def _in_other_units(args: argparse.Namespace, tap: Tap, hole: Hole, error: ValueError) -> ValueError:
    """The error, with the question whether the hole's bare numbers were meant in the other system's units."""
    other = "inch" if args.units == "metric" else "metric"
    try:
        meant = Hole.parse(args.hole, other)
        check_fit(tap, meant)
    except ValueError:
        return error
    if meant == hole:
        return error
    told = dict(diameter=length(meant.diameter).said(other), depth=length(meant.depth).said(other))
    kind = (
        _("'through {diameter} x {depth}'", **told) if meant.is_through else _("'blind {diameter} x {depth}'", **told)
    )
    return ValueError(
        _("{error}; did you mean {hole}? Write the units behind the numbers", error=error.args[0], hole=kind)
    )


def read_runout(text: str, system: str = "metric") -> tuple[float, float]:
    """Runout [mm] and the angle of its high side [deg] from "0.03 mm @ 0 deg" or "0.03 mm".

    >>> read_runout("0.03 mm @ 120 deg")
    (0.03, 120.0)
    """
    size, _sign, angle = text.partition("@")
    return door.length(size.strip(), system), door.angle(angle.strip()) if angle.strip() else 0.0


def _name(one: Parameter) -> str:
    """The option of a parameter."""
    return "--missing-tooth" if one.key == "missing" else "--" + one.key.replace("_", "-")


def _option(written: str, one: Parameter, read: Any) -> Any:
    """An option's value read, its name put before any complaint."""
    try:
        return read(written.strip())
    except ValueError as error:
        told = dict(option=_name(one), text=door.quoted(written.strip()), error=error.args[0])
        raise ValueError(_("{option} {text}: {error}", **told)) from None


def _tooth(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,4}", text.strip()):
        raise ValueError(_("a tooth is named by its number from the point; write 3"))
    return int(text)


# --- as data ----------------------------------------------------------------------------------------


def as_dict(job: Operation) -> dict[str, Any]:
    """The report as plain data, units in the keys; what `--json` prints."""
    tap, thread, flow = job.tap, job.tap.thread, job.chip_flow
    return (
        {
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
            "torque": _torque(job),
            "breakage": {
                "torque_Nm": job.breakage.torque,
                "torque_range_Nm": list(job.breakage.torque_range),
                "margin_range": [_finite(end) for end in job.breakage.margin_range],
            },
            "clutch": {"needs_Nm": job.clutch.needs, "bears_Nm": job.clutch.bears},
            "gauges": _gauges(job),
            "cautions": [said(caution) for caution in job.cautions],
            "set_up": _set_up(job),
        }
        | _spindle(job)
        | _crooked(job)
    )


def _set_up(job: Operation) -> str | None:
    """The set-up line, or None for a job no line could name."""
    try:
        return setupline.line(job)
    except ValueError:
        return None


def _gauges(job: Operation) -> dict[str, Any]:
    found = job.gauges
    return {
        "tap_class": found.tap.name,
        "pitch_diameter_mm": list(found.inside),
        "at_the_mouth_mm": list(found.mouth),
        "limits_mm": list(found.limits),
        "go": found.go,
        "no_go": found.no_go,
    }


def _crooked(job: Operation) -> dict[str, Any]:
    """A crooked start, where there is one: areas of the teeth in a turn, side force, bending."""
    if not job.tilt:
        return {}
    found = job.crooked
    return {
        "crooked_start": {
            "tilt_deg": job.tilt,
            "holder": job.holder,
            "least_mm2": found.least.tolist(),
            "most_mm2": found.most.tolist(),
            "side_force_N": found.side_force,
            "bending_MPa": found.bending,
            "percent_thread": list(found.percent),
        }
    }


def _spindle(job: Operation) -> dict[str, Any]:
    """Spindle speed, and power where one is given: of the cutting alone, and the range to expect."""
    if job.speed is None:
        return {}
    rpm = spindle_speed(job.speed, job.tap.thread.major)
    return {
        "spindle": {
            "speed_m_min": job.speed,
            "rpm": rpm,
            "power_W": cutting_power(job.torque_curve.peak, rpm),
            "power_range_W": [cutting_power(end, rpm) for end in job.expected_torque.peak],
        },
    }


def _torque(job: Operation) -> dict[str, Any]:
    found = job.expected_torque
    return {
        "cutting_Nm": job.torque_curve.peak,
        "expected_Nm": list(found.peak),
        "published_Nm": found.published and found.published.torque,
        "going_back_Nm": list(found.going_back),
        "basis": [said(sentence) for sentence in found.basis],
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
        for number, flute, position, area, width, thickness, _radius, force, rubbing, _lost in zip(*loads)
    ]


def _finite(value: float) -> float | None:
    """A number JSON can hold: null where there is no limit, as where nothing is cut."""
    return value if math.isfinite(value) else None


def _chip_room(job: Operation) -> dict[str, Any]:
    room = job.chip_room
    return {
        "fate": room.fate,
        "goes": said(room.goes),
        "chip_form": said(room.bulking.printed),
        "bulking_low": room.bulking.low,
        "bulking_high": room.bulking.high,
        "packs_at_mm": room.packs_at,
        "may_pack_at_mm": room.may_pack_at,
        "jams_at_mm": room.jams_at,
        "full_ratio": _finite(room.full_ratio),
        "depth_mm": room.depth.tolist(),
        "solid_mm3": room.solid.tolist(),
        "loose_low_mm3": room.loose_low.tolist(),
        "loose_high_mm3": room.loose_high.tolist(),
        "room_flutes_mm3": room.room_flutes.tolist(),
        "room_below_mm3": room.room_below.tolist(),
    }
