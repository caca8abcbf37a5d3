"""The one place that makes a terminal console."""

from __future__ import annotations

import os
import sys

from rich.console import Console

PLAIN_WIDTH = 80


def make_console(*, colour: bool = True, stderr: bool = False) -> Console:
    """A console that works in a pipe, without colour, and at 80 columns where the width is not known."""
    stream = sys.stderr if stderr else sys.stdout
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="replace")
    known = stream.isatty() or "COLUMNS" in os.environ
    return Console(
        stderr=stderr,
        no_color=not colour or "NO_COLOR" in os.environ,
        width=None if known else PLAIN_WIDTH,
        highlight=False,
        emoji=False,
        markup=False,
        soft_wrap=False,
    )
