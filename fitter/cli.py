"""The command line's door: the ``fitter`` group, and how every failure leaves it.

Enters: the arguments of a shell.  Leaves: an exit code (see :mod:`fitter.errors`), results on standard
output, everything else on standard error.  Expected failures end in one line, never in a traceback.
"""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence

import click

from fitter import __version__
from fitter.commands.check import check
from fitter.commands.demo import demo
from fitter.commands.explain import explain
from fitter.commands.fit import fit
from fitter.commands.photos import photos
from fitter.commands.proof import proof
from fitter.commands.templates import templates
from fitter.errors import EXIT_DONE, EXIT_INTERRUPTED, EXIT_UNEXPECTED, FitterError
from fitter.shown import shown

TRACE = "FITTER_TRACE"
"""Environment variable that, set to anything, shows where an unexpected error came from."""

EPILOG = """
\b
Examples:
  fitter demo
  fitter templates list
  fitter photos photos/
  fitter fit TEMPLATE photos/ --title "Marrow Lake" --words 120 --out page-1
  fitter check page-1/layout-1.json
  fitter explain page-1/layout-1.json
  fitter proof page-1/layout-1.json --plain --out page-1.png

\b
Exit codes: 0 done, 1 a rule is broken (check), 2 bad input or use, 3 no page exists,
4 outputs exist already and --overwrite is not given, 70 an unexpected error, 130 interrupted.
"""


@click.group(epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="fitter")
def cli() -> None:
    """Fit photos and words to album page templates.

    Chooses which photo goes where, bends the template until it suits, proves how good the page is, checks
    it and draws a proof.  Photos are only read; nothing leaves this machine.
    """


for command in (fit, photos, check, explain, proof, templates, demo):
    cli.add_command(command)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    arguments
        What follows the program's name; ``None`` takes the shell's.
    """
    try:
        result = cli.main(args=None if arguments is None else list(arguments), standalone_mode=False)
    except FitterError as error:
        return _fail(error.message, error.exit_code)
    except click.UsageError as error:
        if error.ctx is not None and error.message == error.ctx.get_help():
            click.echo(error.message, err=True)  # a group without a subcommand
            return 2
        where = f" (see '{error.ctx.command_path} --help')" if error.ctx is not None else ""
        return _fail(error.format_message() + where, 2)
    except click.ClickException as error:
        return _fail(error.format_message(), 2)
    except (click.Abort, KeyboardInterrupt):
        return _fail("interrupted, nothing more is written", EXIT_INTERRUPTED)
    except BrokenPipeError:
        # Whoever read our output has gone; the interpreter must not try to flush to them either.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_DONE
    except Exception as error:  # whatever nobody thought of: code 1 would say that a rule is broken
        return _unexpected(error)
    return result if isinstance(result, int) else EXIT_DONE


def _fail(message: str, exit_code: int) -> int:
    """Say in one line what is wrong."""
    click.echo(f"fitter: {shown(' '.join(message.split()))}", err=True)
    return exit_code


def _unexpected(error: Exception) -> int:
    """Say that the program failed, and where only if that is asked for."""
    if os.environ.get(TRACE):
        click.echo("".join(traceback.format_exception(error)), err=True)
    what = f"{type(error).__name__}: {str(error)[:200]}".removesuffix(": ")
    return _fail(
        f"unexpected error ({what}). This is a mistake of the program; please report it with the command and what "
        f"it prints when {TRACE}=1 is set",
        EXIT_UNEXPECTED,
    )


def main() -> None:
    """Run ``fitter`` and leave the process with its exit code.

    A solve that was told to stop twice may still be running in its thread; leaving at once is then the
    only way not to wait for it.
    """
    exit_code = run()
    if exit_code == EXIT_INTERRUPTED:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(exit_code)
    sys.exit(exit_code)
