"""The command `tapkit`, also as `python -m tapkit`."""

from __future__ import annotations

import signal
import sys


def main() -> int:
    """Run the command; a Ctrl-C while it is loaded ends it without a word."""
    before = signal.signal(signal.SIGINT, signal.SIG_DFL)
    from tapkit.cli import main as run

    signal.signal(signal.SIGINT, before)
    return run()


if __name__ == "__main__":
    sys.exit(main())
