"""Lesson 0, the first tap by hand: the order of the job, what the turn tells, torque of two hands, turns, a lean."""

import math
from itertools import combinations, product
from typing import NamedTuple

from tapkit import tables
from tapkit.exercises.bank.rows import first_to_last, has_one_order
from tapkit.exercises.exercise import Draft, Step, exercise, worked
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import ChoiceAsked, Option, mixed
from tapkit.mechanics import hand
from tapkit.messages import _, force, length, of_table
from tapkit.planning.press import PressPart, press_parts


def _orders() -> list[tuple[PressPart, tuple[dict[str, str], ...]]]:
    rows = tables.rows("hand_steps")
    some = [r for r in combinations(rows, 5) if int(r[0]["place"]) <= 3 and int(r[-1]["place"]) >= 8]
    some = [r for r in some if has_one_order(r)]
    parts = press_parts("blind")
    return [(parts[n % len(parts)], mixed(some, f"by hand/{n}")[0]) for n in range(40)]


@exercise("order-by-hand", cases=_orders)
def order_by_hand(case: tuple[PressPart, tuple[dict[str, str], ...]]) -> Draft:
    _part, rows = case
    return Draft(
        first_to_last(rows),
        tuple(
            Step(_("{number}. {step}: {why}.", number=i, step=of_table(r["step"]), why=of_table(r["why"])))
            for i, r in enumerate(rows, start=1)
        ),
    )


def _feels() -> list[tuple[PressPart, dict[str, str], tuple[dict[str, str], ...]]]:
    found = []
    for number, (one, turn) in enumerate(product(tables.rows("hand_feel"), range(3))):
        parts = press_parts("through" if one["name"] == "loose" else "blind" if one["name"] == "floor" else None)
        near = {one["name"], *one["near"].split("|")}
        others = [r for r in mixed(tables.rows("hand_feel"), f"feel/{number}") if r["name"] not in near]
        found.append((parts[(5 * number + turn) % len(parts)], one, tuple(others[:3])))
    return found


@exercise("what-the-turn-tells", cases=_feels)
def what_the_turn_tells(case: tuple[PressPart, dict[str, str], tuple[dict[str, str], ...]]) -> Draft:
    _part, right, others = case

    def told(row: dict[str, str], kind: str) -> Option:
        feel = of_table(row["feel"])
        if kind == "act":
            says = _("That is the answer to something else: {feel}.", feel=feel)
        else:
            says = _("Then you would feel something else: {feel}.", feel=feel)
        return Option(of_table(row[kind]), f"{kind}-{row['name']}", says)

    return Draft(
        ChoiceAsked(
            (Option(of_table(right["act"])), *(told(r, "act") for r in others)),
            (Option(of_table(right["why"])), *(told(r, "why") for r in others)),
        ),
        (Step(_("Do this: {act}.")), Step(_("Because {why}."))),
        given={k: of_table(right[k]) for k in ("feel", "act", "why")},
    )


class HandPull(NamedTuple):
    """Two hands that pull on a wrench: force of each [N], length over both handles [mm]."""

    part: PressPart
    force: float
    length: float

    @property
    def torque(self) -> float:
        """Torque on the tap [N·m]."""
        return self.force * self.length / 1000


def _pulls() -> list[HandPull]:
    parts = [p for p in press_parts() if p.system == "metric"]
    return [HandPull(p, f, hand.usual_wrench(p.thread.major)) for p, f in product(parts[::2], (18.0, 35.0, 52.0))]


@exercise(
    "torque-of-two-hands",
    cases=_pulls,
    mistakes={"twice": lambda c: 2 * c.torque, "one-hand": lambda c: c.torque / 2},
)
def torque_of_two_hands(case: HandPull) -> Draft:
    asked = NumberAsked(case.torque, "torque", "torque")
    return Draft(
        asked,
        (worked(_("Torque"), asked, "{pull} × {wrench} / 1000"),),
        given={"wrench": length(case.length), "pull": force(case.force)},
    )


class Drilled(NamedTuple):
    """A blind hole of the press and how deep it was drilled at full diameter [mm]."""

    part: PressPart
    depth: float

    @property
    def turns(self) -> float:
        """Turns until the tap's point stands on the end of the cylinder."""
        return self.depth / self.part.thread.pitch


def _drilled() -> list[Drilled]:
    parts = [p for p in press_parts("blind") if p.system == "metric"]
    return [Drilled(p, p.depth + n) for p, n in product(parts, (3.0, 5.0, 6.0))]


@exercise(
    "turns-to-the-floor",
    cases=_drilled,
    mistakes={"depth-times-pitch": lambda c: c.depth * c.part.thread.pitch, "half-turns": lambda c: 2 * c.turns},
)
def turns_to_the_floor(case: Drilled) -> Draft:
    asked = NumberAsked(case.turns, "turns", "turns")
    return Draft(
        asked,
        (
            worked(_("To that depth"), asked, "{drilled} / {pitch}"),
            Step(_("Stop a turn before that: the floor is not looked for by force.")),
        ),
        given={"drilled": length(case.depth)},
    )


class Leaning(NamedTuple):
    """A tap beside a square: the gap [mm] at a height over the face [mm]."""

    part: PressPart
    gap: float
    height: float

    @property
    def angle(self) -> float:
        """How far it leans [deg]."""
        return math.degrees(math.atan(self.gap / self.height))


def _leaning() -> list[Leaning]:
    parts = [p for p in press_parts() if p.system == "metric"]
    return [Leaning(p, g, h) for p, (g, h) in product(parts[::3], ((1.0, 40.0), (2.0, 50.0), (1.5, 30.0)))]


@exercise(
    "lean-of-a-tap",
    cases=_leaning,
    mistakes={
        "upside-down": lambda c: math.degrees(math.atan(c.height / c.gap)),
        "no-tangent": lambda c: c.gap / c.height * 100,
    },
)
def lean_of_a_tap(case: Leaning) -> Draft:
    asked = NumberAsked(case.angle, "angle", "angle")
    return Draft(
        asked,
        (worked(_("Lean"), asked, "tan⁻¹({gap} / {height})"),),
        given={"gap": length(case.gap), "height": length(case.height)},
    )
