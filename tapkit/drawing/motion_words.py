"""What the moving picture says in words; the same words stand in it, below it, and in its description."""

from __future__ import annotations

from tapkit import units
from tapkit.drawing.motion_view import View, kind_of
from tapkit.mechanics import chipflow, chiproom
from tapkit.operation import Operation

HEADLINES = {
    chipflow.TO_SHANK: "The chips go toward the shank",
    chipflow.AHEAD: "The chips go ahead of the point",
    chipflow.UNDECIDED: "The chips have no clear way",
}


def headline(job: Operation) -> str:
    """Where the chips go, in a few words."""
    return HEADLINES[job.chip_flow.direction]


def way_out(job: Operation) -> str:
    """Where they end, as the ledger of chip room has it."""
    return f"{kind_of(job).printed.capitalize()} of {job.workpiece.name}, {job.chip_room.goes}."


def given(view: View) -> list[str]:
    """What one has to know to foretell the way of the chips."""
    job, tap = view.job, view.tap
    return [
        f"{tap.thread.designation}, {job.hole.kind} hole, {job.workpiece.name}",
        f"axial rake {tap.axial_rake:+.0f}°".replace("-", "−"),
        f"radial rake {tap.radial_rake:+.0f}°, chamfer {tap.chamfer_angle:.0f}°".replace("-", "−"),
    ]


def question(view: View) -> str:
    """The picture in words before anything is told."""
    return f"A {view.tap.name} tap in its hole, cut open, without chips. Where will they go? {'; '.join(given(view))}."


def lift(flow: chipflow.ChipFlow) -> str:
    """The axial angle in words.

    >>> lift(chipflow.chip_flow(radial_rake=10, axial_rake=-12, chamfer_angle=8))
    '3° toward the point'
    """
    side = "shank" if flow.axial_angle >= 0 else "point"
    return f"{abs(flow.axial_angle):.0f}° toward the {side}"


def rules(job: Operation, first: str, second: str) -> list[tuple[str, str, str | None]]:
    """Both rules of chip flow: words, colour and dashes of the arrow."""
    return [
        (f"chip: {lift(job.chip_flow)} (Stabler)", first, None),
        (f"chip: {lift(job.chip_flow_colwell)} (Colwell)", second, "6 4"),
    ]


def why(job: Operation) -> str:
    """What turns the chips, or that nothing does."""
    flow = job.chip_flow
    edge = f"Edge inclined {flow.inclination:+.0f}°".replace("-", "−")
    if flow.direction != chipflow.UNDECIDED:
        where = "ahead" if flow.direction == chipflow.AHEAD else "toward the shank"
        return f"{edge}: it drives the curl {where}."
    if abs(flow.inclination) < flow.band:
        return f"{edge}, under {flow.band:g}°: too little to drive the curl."
    return f"{edge}, but the chip does not follow: undecided."


def leaving(job: Operation) -> str:
    """Why nothing fills where chips leave, and how much room they would want."""
    room = job.chip_room
    loose = f"{room.bulking.low:g} to {room.bulking.high:g}"
    return (
        f"They leave, so nothing fills up. The flutes hold {room.full_ratio:.1f} times the metal cut; these chips take "
        f"{loose} times."
    )


def filling(job: Operation, system: str) -> str:
    """When the room is full, or that it is enough."""
    room = job.chip_room
    if room.packs_at is None:
        return "Room to the end, " + ("even lying loose." if room.may_pack_at is None else "if the chips lie tight.")
    places = 1 if system == "metric" else 2
    return f"Full with the point {units.show(room.packs_at, 'length', system, decimals=places)} deep."


def slowing(view: View, system: str) -> str:
    """How slowed the picture is, and against what speed."""
    speed = f"{units.show(view.speed, 'speed', system)}, {view.rpm:.0f} rpm"
    given = f"At {speed}" if view.job.speed else f"No speed is set; as if at {speed}"
    return f"{given}, {times_slowed(view.slowed)}."


def times_slowed(slowed: float) -> str:
    """So many times slowed, or quicker where it is.

    >>> times_slowed(40), times_slowed(0.5)
    ('40 times slowed', '2 times as fast as in life')
    """
    return f"{slowed:.3g} times slowed" if slowed >= 1 else f"{1 / slowed:.3g} times as fast as in life"


def foot(view: View, system: str) -> list[str]:
    """The last lines of the column."""
    short = "The hole is drawn shorter than it is. " if view.hidden else ""
    return [slowing(view, system), f"{short}Chips are drawn larger than they are."]


def describe(view: View, system: str) -> str:
    """Two or three sentences on the whole picture."""
    job, kind = view.job, kind_of(view.job).printed
    thread = job.tap.thread.designation
    tap = f"{'an' if thread.startswith('M') else 'a'} {thread} {job.tap.name} tap"
    first = f"{headline(job)}. With {tap} in {job.workpiece.name}, {kind} leave the edges {lift(job.chip_flow)}"
    room = "" if job.chip_room.fate == chiproom.LEAVES else f" {filling(job, system)}"
    return f"{first}, then go {job.chip_room.goes}.{room} {slowing(view, system)}"
