"""A crash is told in a line: the work is done by a child process, and this one says how it ended.

Enters: nothing; what the child is told from outside is passed on to it.  Leaves: the child's exit code.  A child that
the system ends (a crash inside a library, the kernel short of memory) cannot say so itself.  Imports as little as it
can: it is the first thing that runs.
"""

import os
import signal
import threading

EXIT_LOST = 70
"""The code of an unexpected error (:mod:`fitter.errors` is not loaded yet)."""
_WISHES = ("SIGINT", "SIGTERM", "SIGHUP", "SIGQUIT")


def watch() -> None:
    """Leave what follows to a child process, and end as it ends; only the child returns.

    Where there are no such processes or signals, or no process is to be had, it is this one that returns.
    """
    if not hasattr(os, "fork") or not hasattr(signal, "sigwaitinfo"):
        return
    wishes = [getattr(signal, name) for name in _WISHES]
    heeded = {signal.SIGCHLD, *wishes}
    before = signal.pthread_sigmask(signal.SIG_BLOCK, heeded)
    watched, held = os.pipe()
    try:
        child = os.fork()
    except OSError:
        os.close(watched)
        os.close(held)
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        return
    if child == 0:
        os.close(held)
        threading.Thread(target=_end_with, args=(watched,), name="watched", daemon=True).start()
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        return
    os.close(watched)
    code = os.waitstatus_to_exitcode(_awaited(child, heeded))
    if -code in wishes:
        # Whoever asked for it sees that it was heeded.
        signal.signal(-code, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, heeded)
        os.kill(os.getpid(), -code)
    elif code < 0:
        start = "\n" if os.isatty(2) else ""  # what was being done may stand there
        os.write(2, f"{start}fitter: {_told(-code)}; no file is half-written\n".encode())
        code = EXIT_LOST
    os._exit(code)


def _awaited(child: int, heeded: set[signal.Signals]) -> int:
    """Return how a child ended, passing on what others than a terminal send, which sends it to both."""
    while True:
        told = signal.sigwaitinfo(heeded)
        if told.si_signo == signal.SIGCHLD:
            ended, status = os.waitpid(child, os.WNOHANG)
            if ended:
                return status
        elif told.si_code <= 0:
            os.kill(child, told.si_signo)


def _told(number: int) -> str:
    """Say what ended a process."""
    name = signal.Signals(number).name if number in set(signal.Signals) else f"signal {number}"
    if number == signal.SIGKILL:
        return f"the system ended the program ({name}), most likely because memory ran out: close others and try again"
    return f"the program crashed ({name}). This is a mistake of it or of a library; please report it with the command"


def _end_with(pipe: int) -> None:
    """End this process when the other end of a pipe is closed: nobody is left who would pass on a wish to stop."""
    os.read(pipe, 1)
    os.kill(os.getpid(), signal.SIGTERM)
