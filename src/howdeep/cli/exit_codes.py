"""How every command ends: faults in one clear line each, an exit code that is documented, and never a traceback."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Callable
from typing import Any, TextIO

from ..errors import HowdeepError


class OutputGone(Exception):
    """What reads or holds the output takes no more. No OSError, so that nothing on the way takes it for its own."""

    def __init__(self, error: OSError):
        super().__init__(error.strerror or str(error))
        self.reader_left = error.errno in (errno.EPIPE, errno.ESHUTDOWN)


class Output:
    """A stream that tells a lost output from every other fault; a stream that was closed before the start loses all."""

    def __init__(self, stream: TextIO | None):
        self._stream = stream

    def write(self, text: str) -> int:
        written: int = self._tried(lambda stream: stream.write(text))
        return written

    def flush(self) -> None:
        if self._stream is not None:
            self._tried(lambda stream: stream.flush())

    def _tried(self, step: Callable[[TextIO], Any]) -> Any:
        try:
            if self._stream is None:
                raise OSError(errno.EBADF, "it is closed")
            return step(self._stream)
        except OSError as error:
            raise OutputGone(error) from None

    def isatty(self) -> bool:
        return self._stream is not None and self._stream.isatty()

    def __getattr__(self, name: str) -> Any:
        if self._stream is None:
            raise AttributeError(name)
        return getattr(self._stream, name)


def run(step: Callable[[], Any]) -> int:
    """Run a command to its end; returns the exit code. Raises nothing but what HOWDEEP_DEBUG asks to see."""
    plain = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = Output(sys.stdout), Output(sys.stderr)
    try:
        try:
            code = _run(step)
            sys.stdout.flush()
        except OutputGone as gone:
            code = 0 if gone.reader_left else 2
            if code:
                _say(f"the output cannot be written: {gone}")
    finally:
        sys.stdout, sys.stderr = plain
        _discard_rest()
    return code


def _run(step: Callable[[], Any]) -> int:
    try:
        step()
        return 0
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 0 if end.code is None else 2
    except HowdeepError as error:
        for fault in error.faults:
            _say(str(fault))
        return error.exit_code
    except OutputGone:
        raise
    except KeyboardInterrupt:
        return 130
    except OSError as error:  # a file that cannot be used, met where nobody expected it
        _say(f"{error.filename}: {error.strerror or error}" if error.filename else str(error))
        return 2
    except Exception as error:  # the last resort: a defect of the program, said in one line
        if os.environ.get("HOWDEEP_DEBUG"):
            raise
        _say(f"internal fault: {type(error).__name__}: {error} (HOWDEEP_DEBUG=1 shows where; please report it)")
        return 70


def _say(text: str) -> None:
    with contextlib.suppress(OutputGone):
        print(f"howdeep: {text}", file=sys.stderr)


def _discard_rest() -> None:
    """What is still held for an output that is gone would be tried again at the end, and fail aloud."""
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
