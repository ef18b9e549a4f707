"""`python -m tapkit` is the same as `tapkit`."""

import sys

from tapkit.cli import main

sys.exit(main())
