"""Practice sessions: a mixed set by topic and level, each exercise worked, then faded, then whole."""

from tapkit.exercises.bank import exercises
from tapkit.exercises.exercise import TOPICS, Exercise, Question
from tapkit.exercises.options import mixed
from tapkit.exercises.progress import Progress
from tapkit.messages import _, listed


def stages_for(one: Exercise, progress: Progress | None) -> tuple[str, ...]:
    """The stages a learner still needs: all for a new exercise, the last ones once begun, whole once sure."""
    fades = min(one.questions[0].fades, 2)
    ladder = ("worked", *(f"faded-{i}" for i in range(1, fades + 1)), "whole")
    if progress is None:
        return ladder
    standing = progress.of(one.name)
    if standing.state == "new":
        return ladder
    return ladder[-2:] if standing.right == 0 and fades else ("whole",)


def session(
    *,
    topic: str | None = None,
    level: int | None = None,
    lesson: int | None = None,
    seed: int = 0,
    length: int = 4,
    progress: Progress | None = None,
) -> tuple[Question, ...]:
    """The questions, each at its stage, of a session of up to `length` exercises of a topic, level or lesson, mixed by
    `seed`.

    Exercises that are suggested or not yet sure come first; each goes through the stages its learner needs,
    every stage with another variant. Raises ValueError where no exercise fits.
    """
    if topic is not None and topic not in TOPICS:
        raise ValueError(_("there is no topic {topic}; the topics are {topics}", topic=topic, topics=listed(TOPICS)))
    found = exercises(topic=topic, level=level, lesson=lesson)
    if not found:
        raise ValueError(
            _("no exercise on {topic} has level {level}; leave the level out", topic=topic or lesson, level=level)
        )
    chosen = sorted(mixed(found, f"session/{seed}"), key=lambda e: _rank(e, progress))[:length]
    items = []
    for one in sorted(chosen, key=lambda e: (e.level, found.index(e))):
        for step, stage in enumerate(stages_for(one, progress)):
            question = one.variant(seed + step).at_stage(stage)
            if question.stage == stage or stage == "whole":
                items.append(question)
    return tuple(items)


def _rank(one: Exercise, progress: Progress | None) -> int:
    if progress is None:
        return 0
    if any(s.exercise is one for s in progress.suggestions):
        return 0
    return {"begun": 1, "new": 2, "sure": 3}[progress.of(one.name).state]
