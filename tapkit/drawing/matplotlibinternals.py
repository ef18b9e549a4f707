"""What is used of matplotlib's inside; `pyproject.toml` bounds matplotlib for this module's sake."""

from matplotlib.backends.backend_agg import get_hinting_flag
from matplotlib.figure import Figure
from matplotlib.text import Text

__all__ = ["forget_renderers", "get_hinting_flag"]


def forget_renderers(figure: Figure) -> None:
    """Let every text let go of the renderer that drew it last, else it keeps hold of its large canvas."""
    for text in figure.findobj(Text):
        text._renderer = None
