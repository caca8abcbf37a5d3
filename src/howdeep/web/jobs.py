"""The folder of jobs: names that cannot leave it, listing and search, deletion."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..files.whole import locked

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._ -]{0,79}")
MOST_LISTED = 200


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
    """The file of a job by name. Raises HowdeepError for a name that could lead anywhere else."""
    if not _NAME.fullmatch(name) or ".." in name:
        raise HowdeepError(Fault("", 0, 0, f"'{name[:80]}' is not a job's name", "letters, digits, - and _"))
    path = folder / f"{name}.yaml"
    if path.is_symlink() or path.resolve().parent != folder.resolve():
        raise HowdeepError(Fault("", 0, 0, f"the job '{name}' does not stand in this folder"))
    return path


def name_from(text: str, folder: Path) -> str:
    """A file name that is still free, made from a customer's name or a title."""
    base = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40] or "job"
    for number in range(1, 10000):
        name = base if number == 1 else f"{base}-{number}"
        if not (folder / f"{name}.yaml").exists():
            return name
    raise HowdeepError(Fault("", 0, 0, f"there are ten thousand jobs named '{base}' already"))


def list_jobs(folder: Path, search: str = "") -> tuple[list[Listed], int]:
    """Jobs whose name, title, customer or engine holds every word searched for, newest first; and how many in all."""
    words = search.lower().split()
    found, total = [], 0
    paths = [path for path in folder.glob("*.yaml") if not path.name.startswith(".") and path.name != "prices.yaml"]
    for path in sorted(paths, key=lambda item: (-_changed(item), item.name)):
        total += 1
        if len(found) >= MOST_LISTED:
            continue
        entry = _listed(path)
        text = f"{entry.name} {entry.title} {entry.engine} {entry.customer} {entry.state}".lower()
        if all(word in text for word in words):
            found.append(entry)
    return found, total


def _changed(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def _listed(path: Path) -> Listed:
    try:
        plain = read(path, max_bytes=1_000_000).value
    except HowdeepError as error:
        return Listed(path.stem, "", "", "", "damaged", str(error.faults[0]))
    if not isinstance(plain, dict) or "howdeep_job" not in plain:
        return Listed(path.stem, "", "", "", "damaged", f"{path.name}: is not a job")
    customer = plain.get("customer") if isinstance(plain.get("customer"), dict) else {}
    state = "closed" if plain.get("found") else "promised" if plain.get("promises") else "open"
    return Listed(path.stem, str(plain.get("title") or ""), str(plain.get("engine") or ""),
                  str(customer.get("name") or ""), state)


def delete_job(path: Path) -> None:
    """Delete a job's file for good. Raises HowdeepError where that cannot be done."""
    with locked(path):
        try:
            path.unlink()
        except FileNotFoundError:
            raise HowdeepError(Fault(str(path), 0, 0, "is gone already")) from None
        except OSError as error:
            raise HowdeepError(Fault(str(path), 0, 0, f"cannot be deleted: {error.strerror or error}")) from None
