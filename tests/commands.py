"""Commands of the program: in this process, which spares a start of a second, or in one of their own."""

import contextlib
import io
import os
import subprocess
import sys
from unittest import mock

from howdeep.cli.exit_codes import run
from howdeep.cli.main import app

PROGRAM = [sys.executable, "-c", "from howdeep.cli.main import main; main()"]
WINDOW = {"COLUMNS": "80", "LINES": "24"}
"""What a process whose output is caught takes for its window."""


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


def in_a_process(*words, **options):
    """The same in a process of its own, as a shell starts it: where that is the point."""
    env = {**os.environ, **options.pop("env", {})}
    return subprocess.run([*PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=120, env=env, **options)
