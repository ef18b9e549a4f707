"""The report of `tapkit report` as text for people: what the job is, tooth by tooth, what follows, what to mind."""

import textwrap

import numpy as np

from tapkit.geometry import tapname
from tapkit.mechanics import expected
from tapkit.mechanics.assumptions import assumption
from tapkit.mechanics.caution import has_no_full_thread
from tapkit.mechanics.otherways import other_ways, practice, usual_fluid
from tapkit.messages import (
    Number,
    Quantity,
    Sentence,
    Span,
    _,
    angle,
    length,
    ngettext,
    of_table,
    said,
    threads_of,
    turns_of,
)
from tapkit.messages import force as force_of
from tapkit.messages import torque as torque_of
from tapkit.operation import Operation
from tapkit.planning.speed import cutting_power, spindle_speed, tapping_speed
from tapkit.setupline import Line

WIDTH = 110
INDENT = 11

CAUTION = _(
    "These numbers teach; they do not set a machine. Follow the machine's manual, the shop's rules, local regulations "
    "and your instructor or a qualified machinist."
)


def as_text(job: Operation, system: str = "metric", assumed: Sentence | None = None) -> str:
    """The report in the units of a system; `assumed`: what the set-up left out."""
    told = [_rows([(_("assumed"), assumed)], system, "  ")] if assumed else []
    parts = ["\n".join([_heading(job, system), *told]), _tooth_table(job, system), _rows(_results(job), system)]
    if job.cautions:
        told = [
            textwrap.fill(
                _ended(said(c, system)), WIDTH, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False
            )
            for c in job.cautions
        ]
        parts.append("\n".join([said(_("Mind")), *told]))
    return "\n\n".join([*parts, textwrap.fill(said(CAUTION, system), WIDTH)])


def _ended(text: str) -> str:
    return text[0].upper() + text[1:] + ("" if text.endswith(".") else ".")


def _rows(rows: list[tuple[Sentence | str, Sentence | str]], system: str, margin: str = "") -> str:
    """Labels and sentences, the sentences in a column."""
    return "\n".join(
        textwrap.fill(
            said(text, system),
            WIDTH,
            initial_indent=f"{margin}{said(label, system):<{INDENT - len(margin) - 1}} ",
            subsequent_indent=" " * INDENT,
            break_long_words=False,
            break_on_hyphens=False,
        )
        for label, text in rows
    )


# --- the job -------------------------------------------------------------------------------------------


def _heading(job: Operation, system: str) -> str:
    tap, thread, hole = job.tap, job.tap.thread, job.hole
    title = _(
        "{thread} {tap} tap in {metal}",
        thread=thread.designation,
        tap=tapname.in_words(tap),
        metal=of_table(job.workpiece.printed),
    )
    rows = [
        (_("chamfer"), _chamfer(job)),
        (
            _("tap"),
            ngettext(
                "{count} flute, point {point}, core {core}, radial rake {radial}, axial rake {axial}",
                "{count} flutes, point {point}, core {core}, radial rake {radial}, axial rake {axial}",
                tap.flutes,
                point=length(tap.point_diameter),
                core=length(tap.core_diameter),
                radial=angle(tap.radial_rake),
                axial=angle(tap.axial_rake),
            ),
        ),
        (
            _("hole"),
            _(
                "{hole}: {custom} % of thread by handbook custom, {iso} % of the ISO height",
                hole=_through(job) if hole.is_through else _blind(job),
                custom=Number(thread.percent(hole.diameter), decimals=0),
                iso=Number(thread.percent(hole.diameter, "iso"), decimals=0),
            ),
        ),
    ]
    rows.append((_("depth"), _depth(job)))
    if job.faults.runout:
        told = dict(runout=length(job.faults.runout), off=length(job.faults.eccentricity))
        rows.append((_("runout"), _("{runout} as a dial reads it, so {off} off the axis", **told)))
    if job.speed:
        rows.append((_("speed"), _speed(job)))
    rows.append(("" if job.speed else _("speed"), _shop_speed(job)))
    label = said(_("set-up"), system)
    line = f"  {label:<{INDENT - 3}} {said(Line(job), system)}"  # whole, so that it can be copied
    return "\n".join([said(title, system), _rows(rows, system, "  "), line])


def _through(job: Operation) -> Sentence:
    return _("through {diameter}, part {depth}", diameter=length(job.hole.diameter), depth=length(job.hole.depth))


def _blind(job: Operation) -> Sentence:
    return _("blind {diameter}, drilled {depth}", diameter=length(job.hole.diameter), depth=length(job.hole.depth))


def _depth(job: Operation) -> Sentence:
    """How deep the point goes, and the full thread with it; the rest is the chamfer's."""
    tap, hole = job.tap, job.hole
    point = job.tapped_depth + (tap.chamfer_length if hole.is_through else 0.0)
    told = dict(
        point=_exactly(point),
        turns=turns_of(point / tap.thread.lead, decimals=1),
        chamfer=_exactly(tap.chamfer_length),
    )
    if hole.is_through:
        return _("full thread all through wants the tap's point {point} deep, {turns}: part and chamfer", **told)
    told["clear"] = _exactly(hole.depth - point)
    if has_no_full_thread(tap, hole):
        return _("the tap's point may go {point} deep, and its chamfer is {chamfer} long: no full thread", **told)
    return _(
        "full thread to {full} at most: the tap's point goes {point} deep, {turns}, its last {chamfer} are chamfer, "
        "and {clear} stays clear below it",
        full=_exactly(hole.full_thread(tap.thread.pitch, tap.chamfer_length)),
        **told,
    )


def _exactly(value: float) -> Quantity:
    """A depth to four figures, so that depths of one sentence add up."""
    return length(value, digits=4)


def _chamfer(job: Operation) -> Sentence:
    tap = job.tap
    named = dict(
        threads=threads_of(tap.chamfer_threads, digits=4),
        length=length(tap.chamfer_length),
        angle=angle(tap.chamfer_angle),
        us=of_table(tap.chamfer_name),
        british=of_table(tap.british_name),
    )
    if tap.din_form:
        return _(
            "{threads}, {length} long at {angle} (US {us}; British {british}; DIN 2197 form {letter})",
            letter=tap.din_form,
            **named,
        )
    return _("{threads}, {length} long at {angle} (US {us}; British {british}; no DIN 2197 form)", **named)


def _speed(job: Operation) -> Sentence:
    rpm = spindle_speed(job.speed or 0.0, job.tap.thread.major)
    watts = (cutting_power(end, rpm) for end in job.expected_torque.peak)
    return _(
        "{speed} at the major diameter is {rpm}; at the largest torque to expect the spindle gives {power}",
        speed=Quantity(job.speed or 0.0, "speed", digits=3),
        rpm=Quantity(rpm, "rotation", digits=3),
        power=Span(*watts, "power", digits=2),
    )


def _shop_speed(job: Operation) -> Sentence:
    """What a shop runs in this metal, and whether the job's speed is above it."""
    usual = tapping_speed(job.workpiece, job.tap.thread, "shop")
    turns = (spindle_speed(end, job.tap.thread.major) for end in (usual.low, usual.high))
    told = dict(
        span=Span(usual.low, usual.high, "speed", digits=2), of=of_table(usual.of), source=of_table(usual.source),
        rpm=Span(*turns, "rotation", digits=2),
    )  # fmt: skip
    if (job.speed or 0.0) > usual.high * 1.001:
        return _("more than a shop runs every day: {span}, {rpm} ({of}; {source})", **told)
    return _("a shop runs {span} every day, {rpm} ({of}; {source})", **told)


# --- the teeth -----------------------------------------------------------------------------------------


def _tooth_table(job: Operation, system: str) -> str:
    heads = [_("Tooth"), _("flute"), _("from the point"), _("area of chip"), _("thickness"), _("force"), ""]
    body = [_tooth(row, system) for row in zip(*job.tooth_loads)]
    table = [[said(h, system) for h in heads], *body]
    widths = [max(len(line[i]) for line in table) for i in range(len(heads))]
    return "\n".join("  ".join(f"{cell:>{w}}" for cell, w in zip(line[:-1], widths)) + line[-1] for line in table)


def _tooth(row: tuple, system: str) -> list[str]:
    n, flute, z, area, _width, h, _radius, force, rubbing, lost = row
    note = _("missing") if lost else _("rubs") if rubbing else "" if area > 0 else _("no contact")
    shown = [
        length(z, decimals=2, inch_decimals=3),
        Quantity(area, "area", decimals=4, inch_decimals=7),
        length(h, decimals=4, inch_decimals=5),
        force_of(force),
    ]
    return [str(n), str(flute), *(s.said(system) for s in shown), "  " + said(note, system) if note else ""]


# --- what follows --------------------------------------------------------------------------------------


def _results(job: Operation) -> list[tuple[Sentence | str, Sentence | str]]:
    flow = job.chip_flow
    return [
        *_torque(job),
        (
            _("Chips"),
            _(
                "{direction}: inclination {inclination}, axial angle {axial}, normal rake {normal}",
                direction=of_table(flow.direction),
                inclination=angle(flow.inclination),
                axial=angle(flow.axial_angle),
                normal=angle(flow.normal_rake),
            ),
        ),
        (_("Chip room"), job.chip_room.goes),
        (_("Strength"), _strength(job)),
        (_("Clutch"), job.clutch.sentence),
        *([(_("Clearing"), job.clearing)] if job.clearing else []),
        (_("By hand"), _by_hand(job)),
        *([("", job.hand.feel)] if not job.hand.is_too_much else []),
        (_("Gauges"), job.gauges.sentence),
        *((_("Metal") if not i else "", told) for i, told in enumerate(practice(job.workpiece))),
        *((_("Otherwise") if not i else "", way) for i, way in enumerate(other_ways(job.workpiece))),
    ]


def _torque(job: Operation) -> list[tuple[Sentence | str, Sentence]]:
    """The range to expect, its shares where it is highest, and what stands beside it."""
    found = job.expected_torque
    rows: list[tuple[Sentence | str, Sentence]] = [
        (_("Torque"), _("to expect ({fluid}): {torque}", fluid=of_table(expected.fluid(job.fluid).printed),
        torque=found.told())),
        ("", _("of it cut {cut}, crowding chips {crowding}, friction of the flanks {friction}", **_shares(job))),
    ]  # fmt: skip
    if (usual := usual_fluid(job.workpiece)) not in ("oil", job.fluid):
        other = job.with_(fluid=usual).expected_torque.told()
        rows.append(
            (
                "",
                _(
                    "{fluid}, as is usual in this metal: {torque}",
                    torque=other,
                    fluid=of_table(expected.fluid(usual).printed),
                ),
            )
        )
    if found.published:
        source = dict(torque=torque_of(found.published.torque, digits=2), source=of_table(found.published.source))
        rows.append(("", _("published formula: {torque} ({source})", **source)))
    rows += [("", _of_their_sum(job)), ("", job.going_back.sentence)]
    return [*rows, *(("", _("{basis}.", basis=sentence)) for sentence in found.basis)]


def _of_their_sum(job: Operation) -> Sentence:
    """Why the tooth forces do not add up to the torque to expect; no number, as a sum is no range."""
    found = job.expected_torque
    if found.published and found.open_from is None and job.torque_curve.peak > found.peak[1]:
        return _(
            "the tooth forces above compare teeth and chamfers; together they make more torque than is to be expected, "
            "which is held to published torque instead"
        )
    return _(
        "the tooth forces above compare teeth and chamfers; the torque to expect is no sum of them: what it rests on "
        "is said below"
    )


def _shares(job: Operation) -> dict[str, Span]:
    """Each share where its end of the range is highest, as far down as there is an upper end."""
    found = job.expected_torque
    ends = (found.low, found.high)
    at = [int(np.argmax(np.where(found.closed, end.total, -1.0))) for end in ends]
    return {
        name: Span(*(float(getattr(end, name)[i]) for end, i in zip(ends, at)), "torque", digits=2)
        for name in ("cut", "crowding", "friction")
    }


def _strength(job: Operation) -> Sentence:
    broken, shear = job.breakage, assumption("shear_at_breakage")
    named = dict(
        torque=Span(*broken.torque_range, "torque", digits=2),
        range=Span(shear.low, shear.high, "stress"),
        margin=broken.told(),
    )
    if job.hole.diameter > job.tap.thread.limits.minor_max + 1e-9:
        return _(
            "breaks at {torque}; over the torque to expect that is {margin}, but that torque cuts a thread too "
            "shallow for "
            "its class: nothing is gained by a margin on scrap ({range} in shear is assumed)",
            **named,
        )
    return _(
        "breaks at {torque} if the steel bears {range} in shear (assumed), by the true outline, at the high end by one "
        "of arcs; helix, neck, thread root and faces ground back left out; over the torque to expect that is {margin}",
        **named,
    )


def _by_hand(job: Operation) -> Sentence:
    hand, push = job.hand, assumption("hand_force")
    low, high = hand.force_range
    named = dict(wrench=length(hand.wrench, decimals=0, inch_decimals=1), force=Span(low, high, "force", digits=2))
    if hand.is_too_much:
        return _(
            "a {wrench} wrench asks {force} of each hand, more than hands push without strain (up to {most}): tap "
            "this size by machine, or with a set of hand taps that share the cut",
            most=force_of(push.high, digits=2),
            **named,
        )
    if high > push.high:
        return _(
            "a {wrench} wrench asks {force} of each hand, which may be more than hands push without strain (up to "
            "{most}): take a set of taps that share the cut, or a larger hole",
            most=force_of(push.high, digits=2),
            **named,
        )
    if hand.breaking_range[0] < push.high:
        return _(
            "a {wrench} wrench asks {force} of each hand, and {breaks} of each breaks the tap: two hands can do that "
            "without noticing",
            breaks=Span(*hand.breaking_range, "force", digits=2),
            **named,
        )
    return _(
        "a {wrench} wrench asks {force} of each hand; {breaks} of each would break the tap",
        breaks=Span(*hand.breaking_range, "force", digits=2),
        **named,
    )
