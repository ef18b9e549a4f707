"""The picture of a panel as data: one view or several beside each other."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from matplotlib.figure import Figure


class View(NamedTuple):
    """One drawing (`pen.drawn`), its place in the figure (left, bottom, width, height as shares), what they are
    given `of` a model, and settings for drawing."""

    draw: Callable[..., Any]
    place: tuple[float, float, float, float] = (0, 0, 1, 1)
    of: Callable[[Any], tuple[Any, ...]] = lambda model: (model,)
    more: Mapping[str, Any] = {}


def views(*shown: View) -> dict[str, Callable[..., Any]]:
    """`draw` and `update` of a `PanelSpec` that shows these views."""

    def draw(figure: Figure, model: Any, system: str) -> tuple[Any, ...]:
        axes = [figure.add_axes(view.place) for view in shown]
        return tuple(v.draw(ax, *v.of(model), system=system, **v.more) for v, ax in zip(shown, axes))

    def update(artists: tuple[Any, ...], model: Any) -> None:
        for one, view in zip(artists, shown):
            view.draw.update(one, *view.of(model))

    return {"draw": draw, "update": update}
