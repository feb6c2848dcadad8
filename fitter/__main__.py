"""Where the program starts: Ctrl-C is heeded from the first import on, and a crash is told in a line.

Enters: nothing.  Leaves: what :mod:`fitter.cli` leaves.  Imports as little as it can before it listens.
"""

import os


def main() -> None:
    """Load the command line and run it, in a process that is watched."""
    try:
        from fitter.watched import watch

        watch()
        from fitter.cli import main as command_line

        command_line()
    except KeyboardInterrupt:
        # Here nothing is open, and what is half imported must not be cleaned up.
        os.write(2, b"fitter: interrupted, nothing more is written\n")
        os._exit(130)


if __name__ == "__main__":
    main()
