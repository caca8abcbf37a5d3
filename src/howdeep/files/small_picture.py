"""A photograph made small enough to stand inside a page."""

from __future__ import annotations

import base64
import io
import warnings
from pathlib import Path

MOST_POINTS = 900
"""Longer side of the picture, in points of the screen: a third of a printed page at 150 to the inch."""
QUALITY = 70


def small_picture(path: Path) -> str:
    """The picture as a data address (JPEG, turned upright, without what the camera wrote into it); empty for one that
    is gone, damaged, far too large or of a kind that is not read here."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(path) as picture:
                picture.draft("RGB", (MOST_POINTS, MOST_POINTS))
                upright = ImageOps.exif_transpose(picture).convert("RGB")
        upright.thumbnail((MOST_POINTS, MOST_POINTS))
        out = io.BytesIO()
        upright.save(out, "JPEG", quality=QUALITY)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        return ""
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode()
