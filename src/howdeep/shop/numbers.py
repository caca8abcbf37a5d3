"""Numbers of the shop's papers: each is given once, also where several programs ask at the same time."""

from __future__ import annotations

from pathlib import Path

from ..files.whole import locked
from ..model.knowledge import Knowledge
from .read import load_shop
from .write import put_settings


def take_number(path: Path, knowledge: Knowledge) -> str:
    """The shop's next number, with its prefix; empty where the shop numbers nothing.

    `path` is the file of the settings. The number after it is on the disk before this one is handed out, so that a
    program that ends then leaves a gap and never a double. Raises HowdeepError where the settings cannot be written.
    """
    if not path.exists():
        return ""
    with locked(path):
        settings = load_shop(path, knowledge)
        if settings.next_number is None:
            return ""
        put_settings(path, knowledge, {"next_number": settings.next_number + 1})
    return f"{settings.number_prefix}{settings.next_number}"
