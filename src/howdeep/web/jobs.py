"""The folder of jobs: names that cannot leave it, and deletion."""

from __future__ import annotations

import re
import shutil
import stat
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..files.whole import locked
from ..job.journal import journal_path
from ..job.kept import photo_folder
from ..job.promises import promise_folder
from ..job.sections import MAX_JOB_BYTES

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._ -]{0,79}")
RESERVED = ("prices", "shop")
"""The shop's price list and its settings stand beside the jobs under these names, so no job may have them."""
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})
"""Names that some systems keep for devices."""


class NoJob(HowdeepError):
    """What was asked for is no job of this folder."""


def job_path(folder: Path, name: str) -> Path:
    """The file of a job by name, whether it exists or not. Raises HowdeepError for a name that could lead elsewhere."""
    if not _NAME.fullmatch(name) or ".." in name or is_reserved(name):
        raise HowdeepError(Fault("", 0, 0, f"'{name[:80]}' is not a job's name", "letters, digits, - and _"))
    path = folder / f"{name}.yaml"
    if path.is_symlink() or path.resolve().parent != folder.resolve():
        raise HowdeepError(Fault("", 0, 0, f"the job '{name}' does not stand in this folder"))
    return path


def is_reserved(name: str) -> bool:
    """Whether a name belongs to something that is no job, in small or capital letters."""
    return name.lower() in RESERVED or name.lower().split(".")[0] in _DEVICES


def require_job(path: Path) -> None:
    """Raise NoJob where a file is missing or holds something else, HowdeepError where it cannot be read at all."""
    try:
        kind = path.lstat().st_mode
    except OSError:
        raise NoJob("There is no such job; it may have been deleted.") from None
    if not stat.S_ISREG(kind):
        raise NoJob(f"{path.name} is no file that holds a job.")
    if not is_job(read(path, max_bytes=MAX_JOB_BYTES).value):
        raise NoJob(f"{path.name} is no job.")


def is_job(plain: object) -> bool:
    """Whether the content of a file says that it is a job."""
    return isinstance(plain, dict) and "howdeep_job" in plain


def name_from(text: str, folder: Path) -> str:
    """A file name that is still free, made from a customer's name or a title."""
    base = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40] or "job"
    if is_reserved(base):
        base = f"job-{base}"
    try:
        taken = {path.name.lower() for path in folder.iterdir()}
    except OSError as error:
        raise HowdeepError(Fault(str(folder), 0, 0, f"cannot be read: {error.strerror or error}")) from None
    for number in range(1, 10000):
        name = base if number == 1 else f"{base}-{number}"
        if f"{name}.yaml" not in taken:
            return name
    raise HowdeepError(Fault("", 0, 0, f"there are ten thousand jobs named '{base}' already"))


def delete_job(path: Path) -> None:
    """Delete a job's file for good, with the photographs and promises kept beside it. Raises
    HowdeepError where that cannot be done, and for anything but a job."""
    with locked(path):
        require_job(path)
        try:
            path.unlink()
            journal_path(path).unlink(missing_ok=True)
            for kept in (photo_folder(path), promise_folder(path)):
                shutil.rmtree(kept, ignore_errors=True)
        except FileNotFoundError:
            raise HowdeepError(Fault(str(path), 0, 0, "is gone already")) from None
        except OSError as error:
            raise HowdeepError(Fault(str(path), 0, 0, f"cannot be deleted: {error.strerror or error}")) from None
