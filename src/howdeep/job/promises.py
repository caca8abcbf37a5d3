"""Promises kept beside the job, each in a file of its own that is written once: the job names it by its hash.

The file is whole on the disk before the job names it, so that at whatever moment a program ends, the promise stands in
the job or beside it. Its name carries its hash, so that nothing that was made is ever written over.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError
from ..files.plain_yaml import dump
from ..files.strict_yaml import Document, parse, read_bytes
from ..files.whole import write_whole
from .figures import promise_faults
from .sections import MAX_JOB_BYTES

PROMISE_FORMAT = 1
LOST = "lost"
"""Key of a promise that cannot be shown: why, as the end of a sentence."""
_FILE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,119}\.yaml")
_HEAD = ("howdeep_promise", "name")


def promise_folder(job: Path) -> Path:
    """Where the promises of a job are kept: beside its file, behind any links, under its name."""
    real = Path(os.path.realpath(job))
    return real.with_name(f"{real.stem}.promises")


def is_kept_beside(promise: Any) -> bool:
    """Whether what a job holds of a promise is only where it is kept."""
    return isinstance(promise, dict) and "sha256" in promise and "rung" not in promise


def kept_file(name: str, value: Mapping[str, Any]) -> tuple[dict[str, str], bytes]:
    """(what the job says of it, the bytes of its file). The same value gives the same name."""
    data = dump({"howdeep_promise": PROMISE_FORMAT, "name": name, **value}).encode()
    digest = hashlib.sha256(data).hexdigest()
    word = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "promise"
    return {"file": f"{word}-{digest[:12]}.yaml", "sha256": digest}, data


def put_beside(job: Path, name: str, value: Mapping[str, Any]) -> dict[str, str]:
    """Write a value beside the job, whole or not at all; returns what the job says of it. Raises HowdeepError."""
    entry, data = kept_file(name, value)
    folder = promise_folder(job)
    path = folder / entry["file"]
    try:
        folder.mkdir(exist_ok=True)
        if path.exists() and hashlib.sha256(path.read_bytes()).hexdigest() == entry["sha256"]:
            return entry
    except OSError as error:
        raise HowdeepError(Fault(str(folder), 0, 0, f"cannot be written: {error.strerror or error}")) from None
    write_whole(path, data)
    return entry


def moved_out(job: Path, plain: dict[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """(the job with every promise kept beside it, names of those that were written now)."""
    promises = plain.get("promises")
    if not isinstance(promises, dict):
        return plain, ()
    inside = tuple(name for name, item in promises.items() if isinstance(item, dict) and not is_kept_beside(item))
    if not inside:
        return plain, ()
    entries = {name: put_beside(job, str(name), promises[name]) for name in inside}
    return {**plain, "promises": {name: entries.get(name, item) for name, item in promises.items()}}, inside


def read_promises(document: Document, beside: Path, promises: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    """(every promise of a job as it was made, faults). One whose file is gone or another holds `LOST` and why: the rest
    of the job can be read without it, and no promise is shown that is not the one that was made."""
    faults: list[Fault] = []
    result: dict[str, Any] = {}
    folder = promise_folder(beside / Path(document.file).name)
    for name, promise in promises.items():
        if not is_kept_beside(promise):
            result[name] = promise
            continue
        faults += _entry_faults(document, name, promise)
        if not faults:
            result[name], own = _read_one(folder / promise["file"], promise)
            faults += own
    return result, faults


def _entry_faults(document: Document, name: str, entry: Mapping[str, Any]) -> Iterator[Fault]:
    for field in entry.keys() - {"file", "sha256"}:
        yield document.fault(
            ("promises", name, field), f"'{field}' is nothing that a job says of a promise", at_key=True
        )
    if not isinstance(entry.get("file"), str) or not _FILE.fullmatch(entry["file"]):
        yield document.fault(
            ("promises", name),
            f"'{entry.get('file')}' is no file of a promise",
            "a name in the folder of the job's promises, such as first-0123456789ab.yaml",
        )
    if not isinstance(entry.get("sha256"), str) or not re.fullmatch(r"[0-9a-f]{64}", entry["sha256"]):
        yield document.fault(("promises", name), f"'{entry.get('sha256')}' is no hash of a file")


def _read_one(path: Path, entry: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    if not path.exists():
        return {**entry, LOST: f"{path} is gone; where the job was renamed or moved, its folder goes with it"}, []
    data = read_bytes(path, max_bytes=MAX_JOB_BYTES)
    if hashlib.sha256(data).hexdigest() != entry["sha256"]:
        return {**entry, LOST: f"{path} was changed since it was made; put the file back as it was"}, []
    document = parse(data.decode(errors="replace"), str(path))
    plain = document.value
    if not isinstance(plain, dict):
        return {**entry, LOST: f"{path} holds no promise"}, []
    faults = list(promise_faults(document, (), plain))
    return {key: value for key, value in plain.items() if key not in _HEAD}, faults
