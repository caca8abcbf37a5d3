"""The copy of a photograph for paper: small, upright, without where and when it was taken, kept beside the original."""

from __future__ import annotations

from pathlib import Path

from ..files.small_picture import made_small
from ..files.whole import write_whole
from ..model.job import Photo
from .kept import photo_folder

LONGEST = 1200
"""Pixels of the longer side: 300 to the inch at four inches, and small enough to mail."""
QUALITY = 85


def paper_path(job: Path, photo: Photo) -> Path:
    """Where the copy of a photograph for paper stands: beside the original."""
    return photo_folder(job) / f"{Path(photo.file).stem}.paper.jpg"


def put_paper_copy(job: Path, photo: Photo, data: bytes) -> Path:
    """Write the copy for paper beside the original, whole or not at all. Raises HowdeepError."""
    path = paper_path(job, photo)
    write_whole(path, made_small(data, LONGEST, QUALITY))
    return path


__all__ = ["LONGEST", "QUALITY", "paper_path", "put_paper_copy"]
