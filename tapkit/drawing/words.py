"""Quantities as the sentences under a drawing say them: short, in the system of units shown."""

from tapkit.geometry.hole import Hole
from tapkit.messages import Quantity, Sentence, _

DECIMALS = {
    "metric": {"length": 1, "area": 3, "force": 0, "torque": 1, "stress": 0},
    "inch": {"length": 3, "area": 5, "force": 1, "torque": 1, "stress": None},
}
"""Decimals of each kind in a sentence."""


def brief(value: float, kind: str, finer: int = 0) -> Quantity:
    """A quantity with few decimals, `finer` more than usual, to stand in a sentence.

    >>> brief(23.456, "length").said(), brief(23.456, "length").said("inch"), str(brief(0.0561, "length", 2))
    ('23.5 mm', '0.923 in', '0.056 mm')
    """
    metric, inch = (DECIMALS[system][kind] for system in ("metric", "inch"))
    return Quantity(value, kind, metric + finer, None if inch is None else inch + finer)


def fine_length(value: float) -> Quantity:
    """A length [mm] as a dimension has it: 2 decimals, or 3 in inches."""
    return Quantity(value, "length", 2, 3)


def signed(value: float, decimals: int = 1) -> Sentence:
    """An angle [deg] with its sign.

    >>> str(signed(-3.14)), str(signed(0.0))
    ('−3.1°', '+0.0°')
    """
    shown = Quantity(abs(value), "angle", decimals)
    return _("−{angle}", angle=shown) if round(value, decimals) < 0 else _("+{angle}", angle=shown)


def hole_words(hole: Hole) -> Sentence:
    """A hole in words.

    >>> str(hole_words(Hole.parse("blind 8.5 mm x 25 mm")))
    'blind hole of 8.50 mm, 25.0 mm deep'
    """
    named = dict(diameter=brief(hole.diameter, "length", 1), depth=brief(hole.depth, "length"))
    if hole.is_through:
        return _("through hole of {diameter}, {depth} through", **named)
    return _("blind hole of {diameter}, {depth} deep", **named)
