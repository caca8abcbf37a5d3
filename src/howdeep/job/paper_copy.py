"""A photograph made small for paper: upright, at most 1200 pixels long, without where and when it was taken."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.whole import write_whole
from ..model.job import Photo
from .kept import photo_folder

LONGEST = 1200
"""Pixels of the longer side: 300 to the inch at four inches, and small enough to mail."""
QUALITY = 85


def paper_path(job: Path, photo: Photo) -> Path:
    """Where the copy of a photograph for paper stands: beside the original."""
    return photo_folder(job) / f"{Path(photo.file).stem}.paper.jpg"


def on_paper(data: bytes) -> bytes:
    """The bytes of a JPEG picture made from the bytes of a photograph: turned upright as its camera says, its longer
    side at most 1200 pixels, on white where it was transparent. Only the colour profile comes along: no place, time
    or camera. Raises HowdeepError for what cannot be read as a picture."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture: Image.Image = Image.open(io.BytesIO(data))
            profile = picture.info.get("icc_profile")
            picture.draft("RGB", (2 * LONGEST, 2 * LONGEST))  # a JPEG is read at a fraction of its size at once
            picture = ImageOps.exif_transpose(picture)
            if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
                clear = picture.convert("RGBA")
                picture = Image.new("RGB", clear.size, "white")
                picture.paste(clear, mask=clear.getchannel("A"))
            elif picture.mode not in ("RGB", "L"):
                picture, profile = picture.convert("RGB"), None
            picture.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
            made = io.BytesIO()
            bare = Image.new(picture.mode, picture.size)  # without whatever else the file brought along
            bare.paste(picture)
            bare.save(made, "JPEG", quality=QUALITY, optimize=True, icc_profile=profile)
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError,
            Image.DecompressionBombWarning) as error:
        raise HowdeepError(Fault("", 0, 0, "no copy for paper can be made of it: it cannot be read as a picture here",
                                 "JPEG, PNG, WebP or GIF")) from error
    return made.getvalue()


def put_paper_copy(job: Path, photo: Photo, data: bytes) -> Path:
    """Write the copy for paper beside the original, whole or not at all. Raises HowdeepError."""
    path = paper_path(job, photo)
    write_whole(path, on_paper(data))
    return path


__all__ = ["LONGEST", "on_paper", "paper_path", "put_paper_copy"]
