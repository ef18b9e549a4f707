"""Which panels there are: what `tapkit.panels` offers, sorted by what a call gives."""

import inspect

from tapkit import panels
from tapkit.panels.panel import Panel


def given(name):
    """What a call of it gives, a class, or None; the first of several."""
    call = getattr(panels, name)
    first = str(inspect.signature(call).return_annotation).split(" | ")[0]
    return eval(first, dict(inspect.getmembers(inspect.getmodule(call))))


OFFERED = sorted(name for name, thing in vars(panels).items() if inspect.isfunction(thing))
"""Names a workbook may call."""
LIVE = [n for n in OFFERED if hasattr(given(n), "_ipython_display_") or hasattr(given(n), "_repr_mimebundle_")]
"""Those that show something live; the others show text or a picture."""
SPECIFIED = [name for name in OFFERED if issubclass(given(name) or object, Panel)]
"""Those that are a `PanelSpec`."""
