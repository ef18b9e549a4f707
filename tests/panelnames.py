"""Which panels there are: what `tapkit.panels` offers, sorted by what a call gives."""

import inspect

from tapkit import panels
from tapkit.panels.panel import Panel


def given(name):
    """What a call of it gives, a class, or None; the first of several."""
    first = inspect.signature(getattr(panels, name), eval_str=True).return_annotation
    return getattr(first, "__args__", [first])[0]


OFFERED = sorted(name for name, thing in vars(panels).items() if inspect.isfunction(thing))
"""Names a workbook may call."""
LIVE = [n for n in OFFERED if hasattr(given(n), "_ipython_display_") or hasattr(given(n), "_repr_mimebundle_")]
"""Those that show something live; the others show text or a picture."""
SPECIFIED = [name for name in OFFERED if issubclass(given(name) or object, Panel)]
"""Those that are a `PanelSpec`."""
