"""Commands of the program: in this process, which spares a start of a second, or in one of their own, with or without
a terminal."""

import contextlib
import ctypes
import functools
import importlib
import io
import os
import signal
import subprocess
import sys
from unittest import mock

import pexpect
from typer.testing import CliRunner

from howdeep.assessment.session import open_shop
from howdeep.cli.exit_codes import run
from howdeep.cli.main import app, main
from howdeep.errors import HowdeepError
from howdeep.knowledge.sheet_form import sheet_form
from howdeep.knowledge.where import rule_folders
from howdeep.model.terms import RUNGS

PROGRAM = [sys.executable, "-c", "from howdeep.cli.main import main; main()"]
WINDOW = {"COLUMNS": "80", "LINES": "24"}
"""What a process whose output is caught takes for its window."""
ON_PAPER = (
    ("quote",),
    ("quote", "--json"),
    ("letter",),
    ("order",),
    ("quote", "--shop-copy"),
    ("quote", "--two-step"),
    ("quote", "--compare", "replace"),
    ("sheet assembly",),
    ("sheet proof",),
    ("sheet assembly", "--json"),
    *(("quote", "--scope", rung) for rung in RUNGS),
)
"""Every paper of a job."""


def howdeep(*words, env=None, cwd=None, typed=""):
    """What a command printed, complained of and ended with, run in this process."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    keys = io.TextIOWrapper(io.BytesIO(typed.encode()), encoding="utf-8")
    words = [str(word) for word in words]
    with contextlib.ExitStack() as around:
        around.enter_context(mock.patch.dict(os.environ, {**WINDOW, **(env or {})}))
        around.enter_context(mock.patch.object(sys, "stdin", keys))
        around.enter_context(contextlib.redirect_stdout(out))
        around.enter_context(contextlib.redirect_stderr(err))
        around.enter_context(contextlib.chdir(cwd or "."))
        code = run(lambda: app(args=words, prog_name="howdeep"))
    told = (stream.buffer.getvalue().decode() for stream in (out, err))
    return subprocess.CompletedProcess(words, code, *told)


def run_on(path, *command):
    """Run a command on a job in this process; a fault that names what is wrong is an answer, anything else is not."""
    done = CliRunner().invoke(app, [*command[0].split(), str(path), *command[1:], "--no-colour"])
    if isinstance(done.exception, HowdeepError):
        return str(done.exception)
    assert done.exit_code == 0 and done.exception is None, (command, path.read_text(), done.exception)
    assert done.output.strip(), (command, path.read_text())
    return done.output


def in_a_process(*words, **options):
    """The same in a process of its own, as a shell starts it: where that is the point."""
    env = {**os.environ, **options.pop("env", {})}
    return subprocess.run([*PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=120, env=env, **options)


def in_a_terminal(*words, size=(24, 80), cwd=None, **env):
    """A command in a pseudo-terminal, to be typed to: a fork of this process, which has the program loaded. What stands
    between it and a program that was started is `in_a_process` to try."""
    _at_hand()
    plain = {name: value for name, value in os.environ.items() if name not in WINDOW}  # the window itself says its size
    return pexpect.spawn(
        sys.executable,
        dimensions=size,
        encoding="utf-8",
        timeout=120,
        cwd=None if cwd is None else str(cwd),
        preexec_fn=lambda: _instead([str(word) for word in words], {**plain, "NO_COLOR": "1", "TERM": "xterm", **env}),
    )


@functools.cache
def _at_hand():
    """Have what every fork would load for itself."""
    for name in ("terminal.interview", "terminal.engine", "terminal.prices", "assessment.assess", "sheets.check"):
        importlib.import_module(f"howdeep.{name}")
    open_shop(example_prices=True)
    sheet_form(rule_folders(None))


def _instead(words, env):
    """Be the program that would be started."""
    code = 1
    try:
        os.closerange(3, 1024)  # among them the pipe by which the other side waits for the start
        signal.signal(signal.SIGINT, signal.default_int_handler)  # whatever runs the tests
        # whatever runs the tests may have loaded the line editor, which the program does not
        ctypes.c_void_p.in_dll(ctypes.pythonapi, "PyOS_ReadlineFunctionPointer").value = None
        os.environ.clear()
        os.environ.update(env)
        sys.stdin = sys.__stdin__ = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115 - as long as the process
        sys.stdout = sys.__stdout__ = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stderr = sys.__stderr__ = open(2, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.argv = ["howdeep", *words]
        main()
    except SystemExit as end:
        code = end.code
    finally:
        sys.stdout.flush()
        os._exit(code)
