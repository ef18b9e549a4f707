"""Seeds of a class: from one class seed to a seed for each learner and each question.

The class seed stays with the instructor. A learner's seed follows from it and cannot be turned back into it, so
that a learner who knows their own questions knows nobody else's; that holds as long as the class seed cannot be
guessed, which is why `tapkit hub` draws a long one.
"""

from collections.abc import Iterable

from tapkit.codes import keyed_number, letters

LARGEST = 2**53
"""Seeds are below this, so that every program that reads JSON keeps them exact."""


def derive(key: str, *names: str) -> int:
    """A seed that follows from a key and names.

    >>> derive("7", "learner", "kai") == derive("7", "learner", "kai") != derive("7", "learner", "lea")
    True
    """
    return keyed_number(key, "tapkit", *names) % LARGEST


def learner_seed(class_seed: str | int, learner: str) -> int:
    """The seed of one learner."""
    return derive(str(class_seed), "learner", learner)


def class_code(class_seed: str | int) -> str:
    """A short code that every record of a class carries; it says which class, and nothing of the seed."""
    return f"class-{derive(str(class_seed), 'class') % 16**6:06x}"


def sheet_code(learner_seed: int, exercises: Iterable[str], units: str = "metric") -> str:
    """Five letters that tell one learner's sheet of a set apart, without telling its seed."""
    own = () if units == "metric" else (units,)
    return letters(derive(str(learner_seed), "sheet", *exercises, *own), 5)


def question_seed(learner_seed: int, turn: int = 0) -> int:
    """The seed of a learner's question in any exercise: the first, or a later one (`turn` 1, 2 …).

    An exercise mixes its variants in an order of its own; neighbouring seeds give different questions.
    """
    return learner_seed + turn
