"""Notes and photographs of a job: the one written into it, the other kept beside it, named by its hash."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError
from ..files.whole import write_whole
from ..model.job import Photo
from .write import Change, clean_text

MOST_LETTERS = 2000
"""Longest note."""
MOST_BYTES = 40 * 1024 * 1024
"""Largest photograph."""
KINDS: tuple[tuple[bytes, int, str], ...] = (
    (b"\xff\xd8\xff", 0, "jpg"),
    (b"\x89PNG\r\n\x1a\n", 0, "png"),
    (b"WEBP", 8, "webp"),
    (b"ftypheic", 4, "heic"),
    (b"ftypmif1", 4, "heic"),
    (b"GIF8", 0, "gif"),
)
"""(first bytes, where they stand, ending): pictures that telephones and cameras make."""


def noting(text: str, date: str) -> Change:
    """The change that adds a note. Raises HowdeepError where there is nothing to note or far too much."""
    told = clean_text(text).strip()
    if not told:
        raise HowdeepError("there is nothing to note; write the note behind the job")
    if len(told) > MOST_LETTERS:
        raise HowdeepError(f"a note of {len(told):,} letters is longer than {MOST_LETTERS:,}: keep it as a file")

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "notes": [*(plain.get("notes") or ()), {"date": date, "text": told}]}

    return change


def photo_folder(job: Path) -> Path:
    """Where the photographs of a job are kept: beside it, under its name."""
    return job.with_name(f"{job.stem}.photos")


def photo_of(file: Path, of: str, date: str) -> tuple[Photo, bytes]:
    """(the entry, the bytes) of a photograph. Raises HowdeepError for what cannot be read or is no picture."""
    try:
        if file.stat().st_size > MOST_BYTES:
            raise HowdeepError(Fault(str(file), 0, 0, f"is larger than {MOST_BYTES // 1024 // 1024} MB"))
        data = file.read_bytes()
    except OSError as error:
        raise HowdeepError(Fault(str(file), 0, 0, f"cannot be read: {error.strerror or error}")) from None
    return photo_named(data, of, date, file=str(file)), data


def photo_named(data: bytes, of: str, date: str, *, file: str = "") -> Photo:
    """The entry of a photograph by its bytes. Raises HowdeepError where it is none, or nobody says what it shows."""
    shows = clean_text(of).strip()
    if not shows:
        raise HowdeepError("say what the photograph shows (--of 'bore 3', or the name of a reading)")
    if len(data) > MOST_BYTES:
        raise HowdeepError(Fault(file, 0, 0, f"is larger than {MOST_BYTES // 1024 // 1024} MB"))
    ending = next((name for mark, at, name in KINDS if data[at : at + len(mark)] == mark), "")
    if not ending:
        raise HowdeepError(Fault(file, 0, 0, "is no picture known here", "JPEG, PNG, WebP, HEIC or GIF"))
    digest = hashlib.sha256(data).hexdigest()
    return Photo(date, shows, f"{digest[:16]}.{ending}", digest)


def put_beside(job: Path, photo: Photo, data: bytes) -> Path:
    """Write a photograph into the job's folder, whole or not at all; the same picture is kept once. Raises
    HowdeepError."""
    folder = photo_folder(job)
    path = folder / photo.file
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if path.exists() and hashlib.sha256(path.read_bytes()).hexdigest() == photo.sha256:
            return path
    except OSError as error:
        raise HowdeepError(Fault(str(folder), 0, 0, f"cannot be written: {error.strerror or error}")) from None
    write_whole(path, data)
    return path


def showing(photo: Photo) -> Change:
    """The change that enters a photograph; one that stands there already for the same thing is not entered twice."""
    entry = {"date": photo.date, "of": photo.of, "file": photo.file, "sha256": photo.sha256}

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        held = list(plain.get("photos") or ())
        if any(item.get("sha256") == photo.sha256 and item.get("of") == photo.of for item in held):
            return plain
        return {**plain, "photos": [*held, entry]}

    return change


def photo_faults(job: Path, photos: tuple[Photo, ...]) -> list[str]:
    """Photographs that are gone, or are another picture than was kept."""
    told = []
    for photo in photos:
        path = photo_folder(job) / Path(photo.file).name
        try:
            same = hashlib.sha256(path.read_bytes()).hexdigest() == photo.sha256
        except OSError:
            told.append(f"the photograph of {photo.of} ({path}) is gone")
            continue
        if not same:
            told.append(f"the photograph of {photo.of} ({path}) is another picture than was kept")
    return told
