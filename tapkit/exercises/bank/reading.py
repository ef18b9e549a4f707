"""Lesson 1, reading a tap: designations, chamfer, teeth."""

from __future__ import annotations

import math
from itertools import combinations, permutations, product

from tapkit.exercises.bank.rows import an, cap, g, metric, mm, tip, unified, usual_taps
from tapkit.exercises.choice import Order, WrongOrder
from tapkit.exercises.exercise import Draft, Mistake, Step, exercise
from tapkit.exercises.number import Number
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.planning.press import press_parts


@exercise(
    "pitch-from-inch-thread",
    lesson=1,
    topic="reading a tap",
    level=1,
    kind="number",
    title="Pitch of an inch thread",
    cases=lambda: unified(0.13, 1.0),
    mistakes=(
        Mistake(
            "count-for-pitch",
            lambda t: t.threads_per_inch,
            "That is the number of threads along one inch. The pitch is the way from one thread to the next.",
        ),
        Mistake(
            "threads-for-pitch",
            lambda t: t.threads_per_inch / 25.4,
            "You divided the threads by 25.4. It is the other way round: one inch is shared among the threads.",
        ),
        Mistake(
            "diameter-for-inch",
            lambda t: t.major / t.threads_per_inch,
            "You shared the diameter among the threads. Threads per inch are counted along one inch.",
        ),
    ),
)
def pitch_from_inch_thread(thread: Thread) -> Draft:
    """Pitch of an inch thread."""
    tpi = g(thread.threads_per_inch)
    pitch = Number(thread.pitch, "length", "pitch")
    return Draft(
        f"The export press is drawn in inch. One of its screws is {thread.designation}. What is its pitch in mm?",
        pitch,
        (
            "The number behind the dash counts the threads along one inch.",
            "One inch is 25.4 mm. Share it among the threads.",
        ),
        (Step(f"Pitch: 25.4 mm / {tpi} threads = {{}}", pitch),),
    )


@exercise(
    "chamfer-length",
    lesson=1,
    topic="reading a tap",
    level=1,
    kind="number",
    title="Length of the chamfer",
    cases=lambda: usual_taps(low=4, high=20),
    mistakes=(
        Mistake(
            "spread-over-flutes",
            lambda t: t.chamfer_length / t.flutes,
            "You shared the length among the flutes. Every flute has the whole chamfer.",
        ),
        Mistake(
            "threads-times-diameter",
            lambda t: t.chamfer_threads * t.thread.major,
            "You multiplied by the diameter. A thread is as long as its pitch.",
        ),
        Mistake(
            "divided-by-pitch",
            lambda t: t.chamfer_threads / t.thread.pitch,
            "You divided by the pitch. So many threads, each one pitch long: multiply.",
        ),
    ),
)
def chamfer_length(tap: Tap) -> Draft:
    """Length of the chamfer."""
    length = Number(tap.chamfer_length, "length", "depth")
    return Draft(
        f"You pick {an(tap.thread.designation)} tap with {tap.flutes} flutes. "
        f"Its chamfer is {g(tap.chamfer_threads)} threads long. How long is that in mm?",
        length,
        ("The chamfer is counted in threads. One thread is one pitch long.", "Multiply the threads by the pitch."),
        (Step(f"Chamfer length: {g(tap.chamfer_threads)} × {mm(tap.thread.pitch)} = {{}}", length),),
        reveal=tip(tap),
    )


def _order_cases() -> list[tuple[Tap, ...]]:
    names = ("taper", "plug", "semi-bottoming", "bottoming")
    sets = product(combinations(metric(4, 20), 4), permutations(names))
    return [tuple(Tap.make(t, "straight", n) for t, n in zip(*one)) for one in list(sets)[::37]]


@exercise(
    "order-by-chamfer-length",
    lesson=1,
    topic="reading a tap",
    level=2,
    kind="put in order",
    title="Which chamfer is longest",
    cases=_order_cases,
)
def order_by_chamfer_length(taps: tuple[Tap, ...]) -> Draft:
    """Which chamfer is longest."""

    def text(tap: Tap) -> str:
        return f"{tap.thread.designation} {tap.chamfer_name}, {g(tap.chamfer_threads)} threads"

    right = sorted(taps, key=lambda t: -t.chamfer_length)
    by_word = sorted(taps, key=lambda t: -t.chamfer_threads)
    by_size = sorted(taps, key=lambda t: -t.thread.major)
    order = Order(
        tuple(map(text, right)),
        "from the longest chamfer in mm to the shortest",
        (
            WrongOrder("threads-for-mm", tuple(map(text, by_word)), "You went by the threads alone. Compare the mm."),
            WrongOrder("diameter-for-chamfer", tuple(map(text, by_size)), "You went by the diameter."),
        ),
        tuple(t.chamfer_length for t in right),
    )
    return Draft(
        "Four taps lie ready for the press. Put them in order by the length of the chamfer in mm, the longest first.",
        order,
        ("Length in mm is threads times pitch.", "A long chamfer on a fine pitch can be shorter than you think."),
        tuple(
            Step(f"{t.thread.designation}: {g(t.chamfer_threads)} × {g(t.thread.pitch)} mm = {mm(t.chamfer_length)}")
            for t in right
        ),
    )


def _angle_cases() -> list[Tap]:
    return [Tap.make(t, "straight", n) for n, t in product((7, 5, 4, 3.5, 3, 2.5, 2, 1.75, 1.5), metric(5, 16))]


@exercise(
    "chamfer-angle",
    lesson=1,
    topic="reading a tap",
    level=3,
    kind="number",
    title="Angle of the chamfer",
    cases=_angle_cases,
    mistakes=(
        Mistake(
            "diameter-for-radius",
            lambda t: math.degrees(math.atan((t.thread.major - t.point_diameter) / t.chamfer_length)),
            "You took the whole difference of the diameters. The cone rises on one side by half of it.",
        ),
        Mistake(
            "tangent-for-angle",
            lambda t: math.tan(math.radians(t.chamfer_angle)),
            "That is the tangent. Turn it back into an angle.",
        ),
        Mistake(
            "threads-for-mm",
            lambda t: math.degrees(math.atan((t.thread.major - t.point_diameter) / 2 / t.chamfer_threads)),
            "You divided by the number of threads. Take the length in mm: threads times pitch.",
        ),
    ),
)
def chamfer_angle(tap: Tap) -> Draft:
    """Angle of the chamfer."""
    rise = (tap.thread.major - tap.point_diameter) / 2
    angle = Number(tap.chamfer_angle, "angle", "angle")
    big, small, length = mm(tap.thread.major), mm(tap.point_diameter), mm(tap.chamfer_length)
    return Draft(
        f"{cap(an(tap.thread.designation))} tap has a point diameter of {small}. Its chamfer is "
        f"{g(tap.chamfer_threads)} threads long. What angle does the chamfer make with the axis?",
        angle,
        (
            "Half the difference of the diameters is the rise on one side.",
            "Rise divided by length is the tangent of the angle. The length is threads times pitch.",
        ),
        (
            Step(f"Rise on one side: ({big} − {small}) / 2 = {{}}", Number(rise, "length", "thickness")),
            Step(
                f"Chamfer length: {g(tap.chamfer_threads)} × {mm(tap.thread.pitch)} = {{}}",
                Number(tap.chamfer_length, "length", "diameter"),
            ),
            Step(f"Chamfer angle: the angle whose tangent is {mm(rise)} / {length} = {{}}", angle),
        ),
        reveal=tip(tap),
    )


@exercise(
    "minor-diameter",
    lesson=1,
    topic="reading a tap",
    level=2,
    kind="number",
    title="Basic minor diameter",
    cases=lambda: [*metric(4, 24), *metric(8, 24, "fine")],
    mistakes=(
        Mistake(
            "pitch-for-two-heights",
            lambda t: t.major - t.pitch,
            "That is diameter minus pitch, the quick rule for the drill. The basic minor diameter is a little smaller.",
        ),
        Mistake(
            "one-side-only",
            lambda t: (t.major + t.minor_diameter) / 2,
            "You took the thread's height off once. A diameter loses it on both sides.",
        ),
        Mistake(
            "radius-for-diameter",
            lambda t: t.minor_diameter / 2,
            "That is the radius. The diameter is asked.",
        ),
    ),
)
def minor_diameter(thread: Thread) -> Draft:
    """Basic minor diameter."""
    loss = thread.major - thread.minor_diameter
    minor = Number(thread.minor_diameter, "length", "diameter")
    return Draft(
        f"A sleeve of the press is threaded {thread.designation}. What is the basic minor diameter of the thread?",
        minor,
        (
            "The basic height on one side is 5/8 of the sharp triangle, and that triangle is 0.866 pitches high.",
            "So the diameter loses 1.0825 pitches in all.",
        ),
        (
            Step(f"Loss on the diameter: 1.0825 × {mm(thread.pitch)} = {{}}", Number(loss, "length", "thickness")),
            Step(f"Minor diameter: {mm(thread.major)} − {mm(loss)} = {{}}", minor),
        ),
    )


@exercise(
    "tooth-spacing",
    lesson=1,
    topic="reading a tap",
    level=2,
    kind="number",
    title="From one tooth to the next",
    cases=lambda: [Tap.make(t, "straight", "plug", flutes=z) for t, z in product(metric(6, 24), (2, 3, 4))],
    mistakes=(
        Mistake(
            "pitch-for-spacing",
            lambda t: t.thread.pitch,
            "That is how far one flute moves in a whole turn. The next flute comes earlier.",
        ),
        Mistake(
            "multiplied-flutes",
            lambda t: t.thread.pitch * t.flutes,
            "You multiplied by the flutes. They share the pitch among them.",
        ),
        Mistake(
            "way-around",
            lambda t: math.pi * t.thread.major / t.flutes,
            "That is the way around the tap from flute to flute. Asked is the way along the axis.",
        ),
    ),
)
def tooth_spacing(tap: Tap) -> Draft:
    """From one tooth to the next."""
    spacing = Number(tap.tooth_spacing, "length", "thickness")
    return Draft(
        f"{cap(an(tap.thread.designation))} tap has {tap.flutes} flutes. The tooth of one flute cuts, then the "
        "tooth of the next flute. How far along the axis has the tap moved in between?",
        spacing,
        ("In one whole turn the tap moves one pitch.", "The flutes stand evenly around the tap."),
        (Step(f"Spacing: {mm(tap.thread.pitch)} / {tap.flutes} flutes = {{}}", spacing),),
    )


@exercise(
    "teeth-on-the-chamfer",
    lesson=1,
    topic="reading a tap",
    level=1,
    kind="number",
    title="How many teeth share the work",
    cases=lambda: [
        (p, Tap.make(p.thread, "straight", n, flutes=z))
        for p, n, z in product(press_parts(), (1.5, 2, 4, 5, 8), (2, 3, 4))
        if (n * z) == int(n * z) and n * z != p.depth
    ],
    mistakes=(
        Mistake(
            "one-flute-only",
            lambda c: c[1].chamfer_threads,
            "You counted along one flute only. Every flute carries its own row of teeth.",
        ),
        Mistake(
            "added-flutes",
            lambda c: c[1].chamfer_threads + c[1].flutes,
            "You added threads and flutes. Each thread has a tooth on every flute.",
        ),
    ),
)
def teeth_on_the_chamfer(case: tuple) -> Draft:
    """How many teeth share the work."""
    part, tap = case
    teeth = Number(tap.chamfer_length / tap.tooth_spacing, "teeth", "count")
    return Draft(
        f"The {part.name} is tapped {part.thread.designation}. The tap has {tap.flutes} flutes and a chamfer of "
        f"{g(tap.chamfer_threads)} threads. How many teeth stand on the chamfer?",
        teeth,
        ("Look along one flute: one tooth for each thread.", "Then count all flutes."),
        (Step(f"Teeth: {g(tap.chamfer_threads)} threads × {tap.flutes} flutes = {{}}", teeth),),
    )


EXERCISES = (
    pitch_from_inch_thread,
    chamfer_length,
    order_by_chamfer_length,
    chamfer_angle,
    minor_diameter,
    tooth_spacing,
    teeth_on_the_chamfer,
)
