"""The folder of jobs: names that cannot leave it, listing and search, deletion."""

from __future__ import annotations

import re
import stat
from dataclasses import dataclass
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..files.whole import locked
from ..job.sections import MAX_JOB_BYTES

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._ -]{0,79}")
MOST_LISTED = 200
RESERVED = ("prices", "shop")
"""The shop's price list and its settings stand beside the jobs under these names, so no job may have them."""
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})
"""Names that some systems keep for devices."""
_OTHERS = frozenset({"labour_rate", "build", "howdeep_shop"})
"""A price list, an engine sheet and a shop's settings beside the jobs are known by these keys, and are not listed."""


class NoJob(HowdeepError):
    """What was asked for is no job of this folder."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One line of the list of jobs."""

    name: str
    title: str
    engine: str
    customer: str
    state: str
    """open, promised or closed; 'damaged' where the file cannot be read."""
    fault: str = ""


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


def list_jobs(folder: Path, search: str = "") -> tuple[list[Listed], int]:
    """Jobs whose name, title, customer or engine holds every word searched for, newest first; and how many in all."""
    words = search.lower().split()
    found, total = [], 0
    paths = [path for path in folder.glob("*.yaml") if not path.name.startswith(".") and not is_reserved(path.stem)]
    for path in sorted(paths, key=lambda item: (-_changed(item), item.name)):
        total += 1
        if len(found) >= MOST_LISTED:
            continue
        entry = _listed(path)
        if entry is None:
            total -= 1
            continue
        text = f"{entry.name} {entry.title} {entry.engine} {entry.customer} {entry.state}".lower()
        if all(word in text for word in words):
            found.append(entry)
    return found, total


def _changed(path: Path) -> float:
    try:
        return path.lstat().st_mtime
    except OSError:
        return 0.0


def _listed(path: Path) -> Listed | None:
    """One line of the list; None for a price list or an engine sheet that stands beside the jobs."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return Listed(path.stem, "", "", "", "damaged", f"{path.name}: is a link or no file, and is not followed")
        plain = read(path, max_bytes=MAX_JOB_BYTES).value
    except HowdeepError as error:
        return Listed(path.stem, "", "", "", "damaged", str(error.faults[0]))
    except OSError:
        return None  # deleted since the folder was read
    if not is_job(plain):
        if isinstance(plain, dict) and _OTHERS & plain.keys():
            return None
        return Listed(path.stem, "", "", "", "damaged", f"{path.name}: is not a job")
    customer = plain.get("customer") if isinstance(plain.get("customer"), dict) else {}
    state = "closed" if plain.get("found") else "promised" if plain.get("promises") else "open"
    told = plain.get("engine")
    engine = " ".join(map(str, told.values())) if isinstance(told, dict) else str(told or "")
    return Listed(path.stem, str(plain.get("title") or ""), engine[:80],
                  str(customer.get("name") or ""), state)


def delete_job(path: Path) -> None:
    """Delete a job's file for good. Raises HowdeepError where that cannot be done, and for anything but a job."""
    with locked(path):
        require_job(path)
        try:
            path.unlink()
        except FileNotFoundError:
            raise HowdeepError(Fault(str(path), 0, 0, "is gone already")) from None
        except OSError as error:
            raise HowdeepError(Fault(str(path), 0, 0, f"cannot be deleted: {error.strerror or error}")) from None
