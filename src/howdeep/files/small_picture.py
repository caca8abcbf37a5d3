"""Photographs made small for paper: upright, on white, without what the camera wrote into them."""

from __future__ import annotations

import base64
import io
import warnings
from pathlib import Path

from ..errors import Fault, HowdeepError

MOST_POINTS = 900
"""Longer side of a picture inside a page, in points of the screen: a third of a printed page at 150 to the inch."""
QUALITY = 70


def made_small(data: bytes, longest: int, quality: int) -> bytes:
    """The bytes of a JPEG picture made from the bytes of a photograph: turned upright as its camera says, its longer
    side at most `longest` pixels, on white where it was transparent. Only the colour profile comes along: no place,
    time or camera. Raises HowdeepError for what cannot be read as a picture."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture: Image.Image = Image.open(io.BytesIO(data))
            profile = picture.info.get("icc_profile")
            picture.draft("RGB", (2 * longest, 2 * longest))  # a JPEG is read at a fraction of its size at once
            picture = ImageOps.exif_transpose(picture)
            if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
                clear = picture.convert("RGBA")
                picture = Image.new("RGB", clear.size, "white")
                picture.paste(clear, mask=clear.getchannel("A"))
            elif picture.mode not in ("RGB", "L"):
                picture, profile = picture.convert("RGB"), None
            picture.thumbnail((longest, longest), Image.Resampling.LANCZOS)
            bare = Image.new(picture.mode, picture.size)  # without whatever else the file brought along
            bare.paste(picture)
            made = io.BytesIO()
            bare.save(made, "JPEG", quality=quality, optimize=True, icc_profile=profile)
    except (
        OSError,
        ValueError,
        SyntaxError,
        EOFError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
    ) as error:
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                "no copy for paper can be made of it: it cannot be read as a picture here",
                "JPEG, PNG, WebP or GIF",
            )
        ) from error
    return made.getvalue()


def small_picture(path: Path) -> str:
    """The picture as a data address, to stand inside a page; empty for one that is gone, damaged, far too large or of a
    kind that is not read here."""
    try:
        made = made_small(path.read_bytes(), MOST_POINTS, QUALITY)
    except (OSError, HowdeepError):
        return ""
    return "data:image/jpeg;base64," + base64.b64encode(made).decode()
