"""What a talk in a terminal shows: never more than the window holds, and nothing that was typed ahead is taken."""

from __future__ import annotations

import os
import select
import signal
import sys
import threading
from collections.abc import Sequence

from rich.console import Console

from .prompt import QUIT, Ask, Leave, asked

SMALLEST = (80, 24)
MORE = "-- Enter = on, q = leave -- "
MORE_TEXT = "-- Enter = on, q = enough of it -- "


def size_of(console: Console) -> tuple[int, int]:
    """(columns, lines) of the window now; 80 by 24 where it has none."""
    size = getattr(console, "size", None)
    return (max(40, size.width), max(12, size.height)) if size is not None else SMALLEST


def say(console: Console, lines: Sequence[str]) -> None:
    """Lines as they are."""
    for line in lines:
        console.print(line)


def paged(console: Console, ask: Ask, lines: Sequence[str]) -> None:
    """Lines in parts that the window holds, until they are read or the person has enough of them: q leaves the text and
    nothing else, and an answer typed into it is not taken, which is said."""
    room = size_of(console)[1] - 1
    for start in range(0, len(lines), room):
        say(console, lines[start : start + room])
        if start + room >= len(lines):
            return
        typed = asked(ask, MORE_TEXT)
        if typed.lower() in QUIT:
            return
        if typed:
            console.print(f"  ('{typed[:20]}' is not taken while a text goes on; type it where it is asked.)")
            return


def on(console: Console, ask: Ask) -> None:
    """Wait until the card that stands there is read. Raises Leave."""
    typed = asked(ask, MORE)
    if typed.lower() in QUIT:
        raise Leave
    if typed:
        console.print(f"  ('{typed[:20]}' is not taken; what is asked stands below.)")


def keyboard(prompt: str) -> str:
    """What is typed after the prompt stands there. Keys pressed before it are left out, and that is said: they were
    meant for another question. Where the input is no keyboard every line is taken."""
    if not sys.stdin.isatty():
        return input(prompt)
    if _typed_ahead():
        print("  (What was typed before the question stood here is left out.)")
    print(prompt, end="", flush=True)
    _until_typed()
    return input()


def _until_typed() -> None:
    """Wait for a line or a signal, whichever comes first: an interrupt that falls between the prompt and the read is
    acted upon at once and does not wait for the next key."""
    if threading.current_thread() is not threading.main_thread():  # no signal arrives there
        return
    heard, hearing = os.pipe()
    os.set_blocking(hearing, False)
    before = signal.set_wakeup_fd(hearing, warn_on_full_buffer=False)
    try:
        select.select([sys.stdin, heard], [], [])
    except OSError:  # not a system that can wait for a keyboard so
        pass
    finally:
        signal.set_wakeup_fd(before)
        os.close(heard)
        os.close(hearing)


def _typed_ahead() -> bool:
    """Throw away what waits at the keyboard; whether there was any."""
    try:
        import fcntl
        import struct
        import termios
    except ImportError:  # not a system with terminals of this kind
        return False
    try:
        waiting = struct.unpack("i", fcntl.ioctl(sys.stdin, termios.FIONREAD, struct.pack("i", 0)))[0]
        termios.tcflush(sys.stdin, termios.TCIFLUSH)
    except (OSError, termios.error):
        return False
    return bool(waiting > 0)
