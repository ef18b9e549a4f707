"""Which questions a class gets: a set by name, and every learner's own variants of it."""

from tapkit.classroom.seeds import learner_seed, question_seed
from tapkit.exercises import bank
from tapkit.exercises.exercise import TOPICS, Exercise, Question
from tapkit.messages import _

MOST = 60
"""Questions on one sheet at most."""


def exercise_set(text: str) -> tuple[Exercise, ...]:
    """The exercises of a set, in the order of the bank or of the list.

    A set is "all", a lesson ("3" or "lesson-3"), a topic ("tooth load"), "own" for the class's own questions, or
    names of exercises and any of these parted by commas ("chamfer-length, 2").

    Raises ValueError that names what there is.
    """
    found: dict[str, Exercise] = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        for one in _part(part):
            found.setdefault(one.name, one)
    if not found:
        raise ValueError(_("the set {text!r} names no exercise; try a lesson such as 3, or 'all'", text=text))
    return tuple(found.values())


def _part(part: str) -> tuple[Exercise, ...]:
    key = part.casefold().replace("_", "-")
    topic = next((t for t in TOPICS if t.replace(" ", "-") == key.replace(" ", "-")), None)
    lesson = key.removeprefix("lesson").strip("- ")
    if key == "all":
        return bank.exercises()
    if key == "own":
        return _own()
    if topic:
        return bank.exercises(topic=topic)
    if lesson.isdigit():
        numbered = bank.exercises(lesson=int(lesson[:9]))
        if not numbered:
            raise ValueError(
                _(
                    "there is no lesson {lesson} with exercises; the lessons go from {first} to {last}",
                    lesson=int(lesson),
                    first=min(bank.lessons()),
                    last=max(bank.lessons()),
                )
            )
        return numbered
    try:
        return (bank.exercise_named(part),)
    except ValueError as error:
        raise ValueError(
            _("{error} A set may also be a lesson, a topic ({topics}) or 'all'", error=error, topics=", ".join(TOPICS))
        ) from None


def _own() -> tuple[Exercise, ...]:
    found = tuple(bank.own_found().exercises.values())
    if not found:
        problems = bank.own_found().problems
        why = problems[0] if problems else _("write them into questions.csv, or make them on the bench")
        raise ValueError(_("this class has no questions of its own: {why}", why=why))
    return found


def questions_for(
    exercises: tuple[Exercise, ...], class_seed: str, learner: str, turn: int = 0, units: str = "metric"
) -> tuple[Question, ...]:
    """A learner's own variants of a set: the same seed gives the same questions, on paper and on the screen; `turn`
    later ones, as for a test; in the `units` of the class where there are any."""
    own = learner_seed(class_seed, learner)
    return tuple(one.variant(one.seed_in(units, question_seed(own, turn))) for one in exercises)
