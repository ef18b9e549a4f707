"""Lesson 1, reading a tap: designations, chamfer, teeth."""

import math
from itertools import combinations, permutations, product

from tapkit.exercises.bank.rows import (
    bare_number,
    every,
    metric,
    real_flutes,
    tip_sketch,
    unified,
    usual_taps,
)
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import OrderAsked, WrongOrder
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.messages import Sentence, _, length
from tapkit.planning.press import press_parts, whole_of


@exercise(
    "pitch-from-inch-thread",
    cases=lambda: unified(0.13, 1.0),
    mistakes={
        "count-for-pitch": lambda t: t.threads_per_inch,
        "threads-for-pitch": lambda t: t.threads_per_inch / 25.4,
        "diameter-for-inch": lambda t: t.major / t.threads_per_inch,
    },
)
def pitch_from_inch_thread(thread: Thread) -> Draft:
    pitch = NumberAsked(thread.pitch, "length", "pitch")
    return Draft(
        pitch,
        (worked(_("Pitch"), pitch, "{inch} / {tpi}"),),
        system="metric",
        given=dict(inch=length(25.4), tpi=bare_number(thread.threads_per_inch), whole=whole_of(_("The export press"))),
    )


@exercise(
    "chamfer-length",
    cases=lambda: usual_taps(low=4, high=20),
    mistakes={
        "spread-over-flutes": lambda t: t.chamfer_length / t.flutes,
        "threads-times-diameter": lambda t: t.chamfer_threads * t.thread.major,
        "divided-by-pitch": lambda t: t.chamfer_threads / t.thread.pitch,
    },
    likely={"threads-for-mm": lambda t: t.chamfer_threads},
)
def chamfer_length(tap: Tap) -> Draft:
    asked = NumberAsked(tap.chamfer_length, "length", "depth")
    return Draft(asked, (worked(_("Chamfer length"), asked, "{threads} × {pitch}"),), reveal=tip_sketch(tap))


def _order_cases() -> list[tuple[Tap, ...]]:
    names = ("taper", "plug", "semi-bottoming", "bottoming")
    sets = product(combinations(metric(4, 20), 4), permutations(names))
    return [tuple(Tap.make(t, "straight", n) for t, n in zip(*one)) for one in list(sets)[every(37)]]


@exercise("order-by-chamfer-length", cases=_order_cases)
def order_by_chamfer_length(taps: tuple[Tap, ...]) -> Draft:
    def text(tap: Tap) -> Sentence:
        threads = bare_number(tap.chamfer_threads)
        return _(
            "{thread} {chamfer}, {threads} threads",
            thread=tap.thread.designation,
            chamfer=tap.chamfer_name,
            threads=threads,
        )

    def step(tap: Tap) -> Step:
        says = _("{thread}, {threads} threads", thread=tap.thread.designation, threads=bare_number(tap.chamfer_threads))
        return worked(
            says,
            NumberAsked(tap.chamfer_length, "length", "diameter"),
            f"{tap.chamfer_threads:g} × {tap.thread.pitch:g}",
            asked=False,
        )

    right = sorted(taps, key=lambda t: -t.chamfer_length)
    by_word = sorted(taps, key=lambda t: -t.chamfer_threads)
    by_size = sorted(taps, key=lambda t: -t.thread.major)
    order = OrderAsked(
        tuple(map(text, right)),
        _("from the longest chamfer in mm to the shortest"),
        (
            WrongOrder(
                "threads-for-mm", tuple(map(text, by_word)), _("You went by the threads alone. Compare the mm.")
            ),
            WrongOrder("diameter-for-chamfer", tuple(map(text, by_size)), _("You went by the diameter.")),
        ),
        tuple(t.chamfer_length for t in right),
    )
    return Draft(order, tuple(map(step, right)), given=dict(whole=whole_of(_("the press"))))


def _angle_cases() -> list[Tap]:
    return [Tap.make(t, "straight", n) for n, t in product((7, 5, 4, 3.5, 3, 2.5, 2, 1.75, 1.5), metric(5, 16))]


@exercise(
    "chamfer-angle",
    cases=_angle_cases,
    mistakes={
        "diameter-for-radius": lambda t: math.degrees(
            math.atan((t.thread.major - t.point_diameter) / t.chamfer_length)
        ),
        "tangent-for-angle": lambda t: math.tan(math.radians(t.chamfer_angle)),
        "threads-for-mm": lambda t: math.degrees(
            math.atan((t.thread.major - t.point_diameter) / 2 / t.chamfer_threads)
        ),
    },
)
def chamfer_angle(tap: Tap) -> Draft:
    rise = NumberAsked((tap.thread.major - tap.point_diameter) / 2, "length", "thickness")
    long = NumberAsked(tap.chamfer_length, "length", "diameter")
    asked = NumberAsked(tap.chamfer_angle, "angle", "angle")
    return Draft(
        asked,
        (
            worked(_("Rise on one side"), rise, "({major} − {point}) / 2"),
            worked(_("Chamfer length"), long, "{threads} × {pitch}"),
            worked(_("Chamfer angle, from its tangent"), asked, "tan⁻¹({rise} / {long})"),
        ),
        reveal=tip_sketch(tap),
        given={"point": length(tap.point_diameter), "rise": rise, "long": long},
    )


@exercise(
    "minor-diameter",
    cases=lambda: [*metric(4, 24), *metric(8, 24, "fine")],
    mistakes={
        "pitch-for-two-heights": lambda t: t.major - t.pitch,
        "one-side-only": lambda t: (t.major + t.minor_diameter) / 2,
        "radius-for-diameter": lambda t: t.minor_diameter / 2,
    },
)
def minor_diameter(thread: Thread) -> Draft:
    loss = NumberAsked(thread.major - thread.minor_diameter, "length", "thickness")
    minor = NumberAsked(thread.minor_diameter, "length", "diameter")
    return Draft(
        minor,
        (
            worked(_("Loss on the diameter"), loss, "1.0825 × {pitch}"),
            worked(_("Minor diameter"), minor, "{major} − {loss}"),
        ),
        given={"loss": loss, "whole": whole_of(_("the press"))},
    )


@exercise(
    "tooth-spacing",
    cases=lambda: [Tap.make(t, "straight", "plug", flutes=z) for t, z in product(metric(6, 24), (2, 3, 4))],
    mistakes={
        "pitch-for-spacing": lambda t: t.thread.pitch,
        "multiplied-flutes": lambda t: t.thread.pitch * t.flutes,
        "way-around": lambda t: math.pi * t.thread.major / t.flutes,
    },
)
def tooth_spacing(tap: Tap) -> Draft:
    spacing = NumberAsked(tap.tooth_spacing, "length", "thickness")
    return Draft(spacing, (worked(_("Spacing"), spacing, "{pitch} / {flutes}"),))


@exercise(
    "teeth-on-the-chamfer",
    cases=lambda: [
        (p, Tap.make(p.thread, "straight", n, flutes=z))
        for p, n in product(press_parts(), (1.5, 2, 4, 5, 8))
        for z in real_flutes(p.thread)
        if (n * z) == int(n * z) and n * z != p.depth
    ],
    mistakes={
        "one-flute-only": lambda c: c[1].chamfer_threads,
        "added-flutes": lambda c: c[1].chamfer_threads + c[1].flutes,
    },
)
def teeth_on_the_chamfer(case: tuple) -> Draft:
    _part, tap = case
    teeth = NumberAsked(tap.chamfer_length / tap.tooth_spacing, "teeth", "count")
    return Draft(teeth, (worked(_("On the chamfer"), teeth, "{threads} × {flutes}"),))
