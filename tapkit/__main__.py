"""The command `tapkit`, also as `python -m tapkit`."""

import signal
import sys


def main() -> int:
    """Run the command; a Ctrl-C while it is loaded ends it without a word.

    `tapkit open` answers Ctrl-C even where it was started with that signal ignored, as a script's `&` does.
    """
    before = signal.signal(signal.SIGINT, signal.SIG_DFL)
    from tapkit.cli import main as run

    is_ignored = before == signal.SIG_IGN and sys.argv[1:2] == ["open"]
    signal.signal(signal.SIGINT, signal.default_int_handler if is_ignored else before)
    return run()


if __name__ == "__main__":
    sys.exit(main())
