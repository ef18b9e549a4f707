"""What the film of a cut says in words, and how slowed it runs."""

import math

from tapkit import tables
from tapkit.drawing.words import signed
from tapkit.geometry.tapname import in_words
from tapkit.mechanics import chipflow, chiproom
from tapkit.messages import Number, Quantity, Sentence, _, angle, of_table, rough_depth
from tapkit.operation import Operation

TURN_SECONDS, SPEED_IF_NONE = 4.0, 10.0
"""About how long one turn lasts on the screen [s] at the speed shown where a job names none [m/min]; choices of the
drawing."""

HEADLINES = {
    chipflow.TO_SHANK: _("The chips go toward the shank"),
    chipflow.AHEAD: _("The chips go ahead of the point"),
    chipflow.UNDECIDED: _("The chips have no clear way"),
}
QUESTION = _("Where will the chips go?")


def looks(job: Operation) -> dict[str, str]:
    """How the chips of a job are drawn, a row of the table `chip_looks`."""
    return tables.row("chip_looks", kind=job.workpiece.chips)


def shown_speed(job: Operation) -> float:
    """Cutting speed shown [m/min]."""
    return job.speed or SPEED_IF_NONE


def turns_a_minute(job: Operation) -> float:
    """Turns per minute at that speed: 1000 v_c / (π D)."""
    return 1000 * shown_speed(job) / (math.pi * job.tap.thread.major)


def slowed(job: Operation) -> float:
    """How many times slower than life. It hangs on the tap's size alone, so twice the speed looks twice as fast."""
    usual = 60 * math.pi * job.tap.thread.major / (1000 * SPEED_IF_NONE)
    wanted = TURN_SECONDS / usual
    return min((m * 10.0**e for e in range(-1, 5) for m in (1, 2, 4)), key=lambda n: abs(math.log(n / wanted)))


def seconds_of_a_turn(job: Operation) -> float:
    """Seconds one turn takes on the screen."""
    return 60 / turns_a_minute(job) * slowed(job)


def question(job: Operation) -> Sentence:
    """The film in words before anything is told."""
    tap, hole = job.tap, job.hole
    return _(
        "A {tap} tap in its hole, cut open, without chips. {question} {hole}; axial rake {axial}; "
        "radial rake {radial}, chamfer {chamfer}.",
        tap=in_words(tap),
        question=QUESTION,
        hole=_("{thread}, through hole, {metal}", **_of(job))
        if hole.is_through
        else _("{thread}, blind hole, {metal}", **_of(job)),
        axial=signed(tap.axial_rake, 0),
        radial=signed(tap.radial_rake, 0),
        chamfer=Quantity(tap.chamfer_angle, "angle", 0),
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


def way_out(job: Operation) -> Sentence:
    """Where the chips end, as the ledger of chip room has it."""
    return _("Way out: {way}.", way=job.chip_room.goes)


def filling(job: Operation) -> Sentence:
    """When the room is full, or that it is enough."""
    room = job.chip_room
    if room.fate == chiproom.LEAVES:
        return _("Nothing fills up.")
    if room.packs_at is not None:
        return _("Full with the point {depth} deep.", depth=rough_depth(room.packs_at))
    return (
        _("Room to the end, even lying loose.")
        if room.may_pack_at is None
        else _("Room to the end, if the chips lie tight.")
    )


def slowing(job: Operation) -> Sentence:
    """How slowed the film is, and against what speed."""
    times = slowed(job)
    shown = dict(
        speed=Quantity(shown_speed(job), "speed"),
        turns=Quantity(turns_a_minute(job), "rotation", 0),
        times=Number(max(times, 1 / times)),
    )
    if times < 1:
        if job.speed:
            return _("At {speed}, {turns}, {times} times as fast as in life.", **shown)
        return _("No speed is set; as if at {speed}, {turns}, {times} times as fast as in life.", **shown)
    if job.speed:
        return _("At {speed}, {turns}, {times} times slowed.", **shown)
    return _("No speed is set; as if at {speed}, {turns}, {times} times slowed.", **shown)


def describe_film(job: Operation) -> Sentence:
    """What the film shows, in two to four sentences."""
    told = dict(
        headline=HEADLINES[job.chip_flow.direction],
        tap=in_words(job.tap),
        chips=_(looks(job)["leave"], lift=lift(job.chip_flow), way=job.chip_room.goes),
        slowing=slowing(job),
        why=why(job),
        **_of(job),
    )
    if job.chip_room.fate == chiproom.LEAVES:
        return _("{headline}. {thread} {tap} tap in {metal}: {chips}. {why} {slowing}", **told)
    return _("{headline}. {thread} {tap} tap in {metal}: {chips}. {why} {room} {slowing}", room=filling(job), **told)


def _of(job: Operation) -> dict[str, str | Sentence]:
    return dict(thread=job.tap.thread.designation, metal=of_table(job.workpiece.name))
