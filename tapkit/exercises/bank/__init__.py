"""The bank: the exercises of every module here, in the order of their table, and those of the class's own file."""

import importlib
import pkgutil
from difflib import get_close_matches
from functools import cache

from tapkit import tables
from tapkit.exercises import ownfile
from tapkit.exercises.exercise import Exercise
from tapkit.messages import _, listed


@cache
def lessons() -> tuple[int, ...]:
    """The lessons that have exercises, in order."""
    return tuple(dict.fromkeys(int(row["lesson"]) for row in tables.rows("exercises")))


@cache
def _all() -> dict[str, Exercise]:
    modules = [importlib.import_module(f"{__name__}.{m.name}") for m in pkgutil.iter_modules(__path__)]
    made = {one.name: one for module in modules for one in vars(module).values() if isinstance(one, Exercise)}
    return {row["name"]: made[row["name"]] for row in tables.rows("exercises")}


def exercises(
    *,
    lesson: int | None = None,
    topic: str | None = None,
    kind: str | None = None,
    level: int | None = None,
    core: bool | None = None,
    own: bool = False,
) -> tuple[Exercise, ...]:
    """The exercises of a lesson, topic, kind or level, in the order of the lessons; the core of each (`core` True) or
    what is more practice (False); with `own` those of the class's own file behind them."""
    wanted = {"lesson": lesson, "topic": topic, "kind": kind, "level": level, "core": core}
    every = (*_all().values(), *(own_found().exercises.values() if own else ()))
    return tuple(e for e in every if all(v is None or getattr(e, field) == v for field, v in wanted.items()))


def own_found() -> ownfile.OwnFound:
    """The class's own questions by name, and what is wrong in its files."""
    return ownfile.read_own_questions(_all)


def exercise_named(name: str) -> Exercise:
    """The exercise of this name. Raises ValueError that names the nearest ones."""
    found = _all().get(name)
    if found is None and str(name).startswith("own-"):
        found = own_found().exercises.get(name)
    if found is None:
        near = get_close_matches(str(name)[:60], _all(), n=3, cutoff=0.4)
        if not near:
            raise ValueError(_("there is no exercise {name}", name=str(name)[:60]))
        says = _("there is no exercise {name}; did you mean {near}?", name=str(name)[:60], near=listed(near, "or"))
        raise ValueError(says)
    return found
