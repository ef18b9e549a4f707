"""tapkit: tap geometry one can change and see. Start with `Operation.parse`."""

from tapkit.geometry.hole import Hole
from tapkit.geometry.tap import Tap
from tapkit.geometry.thread import Thread
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.operation import Operation

__version__ = "0.1.0"
__all__ = ["Faults", "Hole", "Operation", "Tap", "Thread", "Workpiece", "__version__"]
