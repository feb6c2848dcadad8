"""What the command line says when its process is ended from outside, and what it passes on."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from fitter.errors import EXIT_UNEXPECTED
from fitter.watched import EXIT_LOST

STARTED = "from fitter.watched import watch; import os, signal, sys, time; watch(); "
COUNTING = (
    "seen = []; signal.signal(signal.SIGINT, lambda *_: seen.append(1)); print('ready', flush=True); "
    "time.sleep(2) if not seen else None; time.sleep(0.5); print('', len(seen), flush=True)"
)
AT_A_KEYBOARD = """
import os, pty, sys
child, terminal = pty.fork()
if child == 0:
    os.execv(sys.executable, [sys.executable, "-c", sys.argv[1]])
said = b""
while b"ready" not in said:
    said += os.read(terminal, 100)
os.write(terminal, b"\\x03")
try:
    while True:
        said += os.read(terminal, 100)
except OSError:  # the terminal's other end is closed
    pass
print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), said.split()[-1].decode())
"""


def started(code: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", STARTED + code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def first_line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()


@pytest.mark.parametrize("code", [0, 1, 4, 130])
def test_the_exit_code_is_the_childs(code: int) -> None:
    process = started(f"print('done', flush=True); sys.exit({code})")
    out, err = process.communicate()
    assert (process.returncode, out, err) == (code, "done\n", "")


@pytest.mark.parametrize(
    ("ending", "told"), [("SIGKILL", "memory ran out"), ("SIGSEGV", "crashed"), ("SIGABRT", "crashed")]
)
def test_a_process_that_the_system_ends_is_told_in_one_line(ending: str, told: str) -> None:
    process = started(f"os.kill(os.getpid(), signal.{ending})")
    err = process.communicate()[1].strip()
    assert process.returncode == EXIT_LOST == EXIT_UNEXPECTED
    assert err.startswith("fitter: ")
    assert ending in err
    assert told in err
    assert "\n" not in err


@pytest.mark.parametrize("wish", [signal.SIGTERM, signal.SIGHUP])
def test_a_wish_to_end_reaches_the_child(wish: signal.Signals) -> None:
    process = started("print(os.getpid(), flush=True); time.sleep(60)")
    child = int(first_line(process))
    process.send_signal(wish)
    assert process.communicate(timeout=20)[1] == ""
    assert process.returncode == -wish
    assert not is_running(child)


def test_an_interrupt_is_passed_on_once() -> None:
    process = started(COUNTING)
    assert first_line(process) == "ready"
    process.send_signal(signal.SIGINT)
    assert process.communicate(timeout=20)[0] == " 1\n"
    assert process.returncode == 0


def test_an_interrupt_at_the_keyboard_arrives_once() -> None:
    """A terminal sends it to both processes, so it must not be passed on as well."""
    found = subprocess.run(
        [sys.executable, "-c", AT_A_KEYBOARD, STARTED + COUNTING],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert found.stdout == "0 1\n"


def test_the_child_ends_with_the_process_that_watches_it() -> None:
    process = started("print(os.getpid(), flush=True); time.sleep(60)")
    child = int(first_line(process))
    process.kill()
    process.communicate()
    until = time.monotonic() + 20
    while is_running(child) and time.monotonic() < until:
        time.sleep(0.02)
    assert not is_running(child)


def is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    with open(f"/proc/{process}/stat", encoding="ascii") as stat:
        return stat.read().rsplit(")", 1)[1].split()[0] != "Z"
