"""Every failure a user can meet, each class owning its exit code.

Exit codes: 0 done, 1 a rule is broken (``check``), 2 bad input or use, 3 no page exists,
4 outputs exist already, 70 an unexpected error (a mistake of the program), 130 interrupted.  A page
that cannot exist is a *result*, not an exception; only the command line turns it into exit code 3.
"""

from __future__ import annotations

EXIT_DONE = 0
EXIT_RULE_BROKEN = 1
EXIT_IMPOSSIBLE = 3
EXIT_UNEXPECTED = 70
EXIT_INTERRUPTED = 130


class FitterError(Exception):
    """A failure that is explained in one line and never shows a traceback.

    Parameters
    ----------
    message
        One sentence: what is wrong, where, what was expected and how to mend it.
    """

    exit_code = 2

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class InputError(FitterError):
    """A file or value handed to the program cannot be used."""


class UseError(FitterError):
    """The options contradict each other or name something that is not there."""


class OutputExistsError(FitterError):
    """An output is there already and overwriting was not asked for."""

    exit_code = 4
