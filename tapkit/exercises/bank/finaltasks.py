"""The final test: five parts of the press, one task each; the questions are those of the lessons."""

from itertools import product
from typing import Any

from tapkit.exercises.bank import choosing, holes, machines, shopwork, tapnames
from tapkit.exercises.exercise import Draft, exercise
from tapkit.geometry.fluteform import flute_forms
from tapkit.geometry.tap import Tap
from tapkit.planning.press import PressPart, press_parts


def _of(part: str, *, system: str | None = None) -> tuple[PressPart, ...]:
    return tuple(p for p in press_parts(system=system) if p.part == part)


def _drawn() -> list[tuple[PressPart, Tap]]:
    parts = _of("drain valve", system="metric")
    return [(p, Tap.make(p.thread, f.key, c)) for p, f in product(parts, flute_forms()) for c in f.chamfers]


@exercise("final-read", cases=_drawn)
def final_read(case: tuple[PressPart, Tap]) -> Draft:
    return tapnames.name_the_drawn_tap.make(case[1])


def _offers() -> list[choosing.Offer]:
    parts = ("thrust plate", "spout plate", "frame bracket")
    return [o for o in choosing.choose_the_tap.cases() if o.part.part in parts]


@exercise("final-choose", cases=_offers)
def final_choose(case: Any) -> Draft:
    return choosing.choose_the_tap.make(case)


@exercise("final-plan", cases=lambda: [c for c in holes.fill_the_hole_plan.cases() if c.part.part == "crosshead"])
def final_plan(case: Any) -> Draft:
    return holes.fill_the_hole_plan.make(case)


@exercise("final-set", cases=lambda: machines.runs(_of("guide block", system="metric"), (1.5, 2.0, 2.5, 3.0, 4.0, 5.0)))
def final_set(case: Any) -> Draft:
    return machines.fill_the_cycle.make(case)


@exercise("final-broke", cases=lambda: shopwork.broken(_of("base")))
def final_broke(case: Any) -> Draft:
    return shopwork.what_can_be_ruled_out.make(case)
