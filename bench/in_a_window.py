"""howdeep started in a window of 80 columns and 24 lines, as somebody sits before it, to be typed to."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pexpect

PROGRAM = (sys.executable, "-c", "from howdeep.cli.main import main; main()")
"""How a program of its own is started."""


def in_a_window(*words: str | Path, timeout: float = 60, cwd: Path | None = None) -> pexpect.spawn:
    """The program with these words of its command line; `timeout`: seconds that a prompt is waited for."""
    return pexpect.spawn(
        PROGRAM[0],
        [*PROGRAM[1:], *map(str, words)],
        cwd=None if cwd is None else str(cwd),
        dimensions=(24, 80),
        encoding="utf-8",
        timeout=timeout,
        env={**os.environ, "NO_COLOR": "1", "TERM": "xterm"},
    )
