"""The last change of a job taken back, by its journal."""

from __future__ import annotations

from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from .journal import Line, may_undo, read_journal, text_before, undone
from .sections import MAX_JOB_BYTES
from .write import put_back


def take_back(path: Path) -> Line:
    """Take back the last change that was not taken back yet; returns its line. Raises HowdeepError where there is none,
    where it holds what stays for good, or where the file was changed by other means since."""
    document = read(path, max_bytes=MAX_JOB_BYTES)
    journal = read_journal(path)
    line = undone(journal.lines)
    if line is None:
        raise HowdeepError(Fault(str(path), 0, 0, "there is no change to take back"))
    if journal.text != document.text:
        raise HowdeepError(
            Fault(
                str(path),
                0,
                0,
                "was changed by other means since the last line of its journal, so nothing was taken back",
                "change it by hand, or by the interview",
            )
        )
    if why := may_undo(line):
        raise HowdeepError(Fault(str(path), 0, 0, f"{why}: nothing was taken back"))
    put_back(path, document.digest, text_before(journal.lines, line.number), line.number)
    return line


__all__ = ["take_back"]
