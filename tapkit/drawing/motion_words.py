"""What the moving picture says in words; the same sentences stand in it, below it, and in its description."""

from __future__ import annotations

from tapkit.drawing.motion_view import MotionView, kind_of
from tapkit.drawing.words import signed
from tapkit.geometry.tapname import in_words
from tapkit.mechanics import chipflow, chiproom
from tapkit.messages import Number, Quantity, Sentence, _, angle, length, of_table
from tapkit.operation import Operation

HEADLINES = {
    chipflow.TO_SHANK: _("The chips go toward the shank"),
    chipflow.AHEAD: _("The chips go ahead of the point"),
    chipflow.UNDECIDED: _("The chips have no clear way"),
}
QUESTION = _("Where will the chips go?")


def headline(job: Operation) -> Sentence:
    """Where the chips go, in a few words."""
    return HEADLINES[job.chip_flow.direction]


def way_out(job: Operation) -> Sentence:
    """Where they end, as the ledger of chip room has it."""
    return _(kind_of(job).where, metal=of_table(job.workpiece.name), way=job.chip_room.goes)


def given(view: MotionView) -> list[Sentence]:
    """What one has to know to foretell the way of the chips."""
    job, tap = view.job, view.tap
    job_given = dict(thread=tap.thread.designation, metal=of_table(job.workpiece.name))
    rakes = dict(radial=signed(tap.radial_rake, 0), chamfer=Quantity(tap.chamfer_angle, "angle", 0))
    return [
        _("{thread}, through hole, {metal}", **job_given)
        if job.hole.is_through
        else _("{thread}, blind hole, {metal}", **job_given),
        _("axial rake {axial}", axial=signed(tap.axial_rake, 0)),
        _("radial rake {radial}, chamfer {chamfer}", **rakes),
    ]


def question(view: MotionView) -> Sentence:
    """The picture in words before anything is told."""
    hole, axial, others = given(view)
    return _(
        "A {tap} tap in its hole, cut open, without chips. {question} {hole}; {axial}; {others}.",
        tap=in_words(view.tap),
        question=QUESTION,
        hole=hole,
        axial=axial,
        others=others,
    )


def lift(flow: chipflow.ChipFlow) -> Sentence:
    """The axial angle in words.

    >>> str(lift(chipflow.chip_flow(radial_rake=10, axial_rake=-12, chamfer_angle=8)))
    '3° toward the point'
    """
    lean = Quantity(abs(flow.axial_angle), "angle", 0)
    return (
        _("{angle} toward the shank", angle=lean)
        if flow.axial_angle >= 0
        else _("{angle} toward the point", angle=lean)
    )


def rules(job: Operation, first: str, second: str) -> list[tuple[Sentence, str, str | None]]:
    """Both rules of chip flow: words, colour and dashes of the arrow."""
    return [
        (_("chip: {lift} (Stabler)", lift=lift(job.chip_flow)), first, None),
        (_("chip: {lift} (Colwell)", lift=lift(job.chip_flow_colwell)), second, "6 4"),
    ]


def why(job: Operation) -> Sentence:
    """What turns the chips, or that nothing does."""
    flow = job.chip_flow
    edge = dict(inclination=signed(flow.inclination, 0), band=angle(flow.band))
    if flow.direction == chipflow.AHEAD:
        return _("Edge inclined {inclination}: it drives the curl ahead.", **edge)
    if flow.direction == chipflow.TO_SHANK:
        return _("Edge inclined {inclination}: it drives the curl toward the shank.", **edge)
    if abs(flow.inclination) < flow.band:
        return _("Edge inclined {inclination}, under {band}: too little to drive the curl.", **edge)
    return _("Edge inclined {inclination}, but the chip does not follow: undecided.", **edge)


def leaving(job: Operation) -> Sentence:
    """Why nothing fills where chips leave, and how much room they would want."""
    room = job.chip_room
    return _(
        "They leave, so nothing fills up. The flutes hold {full} times the metal cut; these chips take {low} to {high} "
        "times.",
        full=Number(room.full_ratio, decimals=1),
        low=Number(room.bulking.low),
        high=Number(room.bulking.high),
    )


def filling(job: Operation) -> Sentence:
    """When the room is full, or that it is enough."""
    room = job.chip_room
    if room.packs_at is not None:
        return _("Full with the point {depth} deep.", depth=length(room.packs_at, decimals=1, inch_decimals=2))
    return (
        _("Room to the end, even lying loose.")
        if room.may_pack_at is None
        else _("Room to the end, if the chips lie tight.")
    )


def slowing(view: MotionView) -> Sentence:
    """How slowed the picture is, and against what speed."""
    shown = dict(
        speed=Quantity(view.speed, "speed"),
        turns=Quantity(view.rpm, "rotation", 0),
        times=Number(view.slowed if view.slowed >= 1 else 1 / view.slowed),
    )
    if view.slowed < 1:
        if view.job.speed:
            return _("At {speed}, {turns}, {times} times as fast as in life.", **shown)
        return _("No speed is set; as if at {speed}, {turns}, {times} times as fast as in life.", **shown)
    if view.job.speed:
        return _("At {speed}, {turns}, {times} times slowed.", **shown)
    return _("No speed is set; as if at {speed}, {turns}, {times} times slowed.", **shown)


def foot(view: MotionView) -> list[Sentence]:
    """The last lines of the column."""
    larger = _("Chips are drawn larger than they are.")
    shorter = _("The hole is drawn shorter than it is. Chips are drawn larger than they are.")
    return [slowing(view), shorter if view.hidden else larger]


def describe(view: MotionView) -> Sentence:
    """Two or three sentences on the whole picture."""
    job = view.job
    told = dict(
        headline=headline(job),
        thread=job.tap.thread.designation,
        tap=in_words(job.tap),
        metal=of_table(job.workpiece.name),
        chips=_(kind_of(job).leave, lift=lift(job.chip_flow), way=job.chip_room.goes),
        slowing=slowing(view),
    )
    if job.chip_room.fate == chiproom.LEAVES:
        return _("{headline}. {thread} {tap} tap in {metal}: {chips}. {slowing}", **told)
    return _("{headline}. {thread} {tap} tap in {metal}: {chips}. {room} {slowing}", room=filling(job), **told)
