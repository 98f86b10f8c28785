"""Where the program begins: Ctrl-C ends it without a traceback even while it is still loading."""

from __future__ import annotations

import sys


def main() -> None:
    """Load the commands and run the one that is called."""
    try:
        from seqc.cli.main import main as commands

        commands()
    except KeyboardInterrupt:
        sys.exit(130)
