"""tapkit: tap geometry one can change and see. Start with `Operation.parse`."""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tapkit.geometry.hole import Hole
    from tapkit.geometry.tap import Tap
    from tapkit.geometry.thread import Thread
    from tapkit.mechanics.toothload import Faults
    from tapkit.mechanics.workpiece import Workpiece
    from tapkit.operation import Operation

__version__ = "0.1.0"
__all__ = ["Faults", "Hole", "Operation", "Tap", "Thread", "Workpiece", "__version__"]

_PLACES = {
    "Faults": "tapkit.mechanics.toothload",
    "Hole": "tapkit.geometry.hole",
    "Operation": "tapkit.operation",
    "Tap": "tapkit.geometry.tap",
    "Thread": "tapkit.geometry.thread",
    "Workpiece": "tapkit.mechanics.workpiece",
}
"""Loaded when they are asked for, so that a command is ready for Ctrl-C before numpy is loaded."""


def __getattr__(name: str) -> Any:
    if name not in _PLACES:
        raise AttributeError(f"module 'tapkit' has no attribute {name!r}")
    return getattr(importlib.import_module(_PLACES[name]), name)
