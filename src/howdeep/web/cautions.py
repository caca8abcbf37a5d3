"""Which cautions a device has had before it today: those are one line, every other stands open."""

from __future__ import annotations

import re
from collections.abc import Iterable

from flask import request
from werkzeug.wrappers import Response

from ..clock import date_today

COOKIE = "howdeep_read"
_ID = re.compile(r"[a-z0-9_]{1,60}")
MOST = 40
"""Cautions that a cookie holds; beyond that the oldest open again."""


def read_today() -> frozenset[str]:
    """Cautions below which a form was saved on this device today."""
    day, _, names = request.cookies.get(COOKIE, "").partition(":")
    if day != date_today():
        return frozenset()
    return frozenset(name for name in names.split(".")[:MOST] if _ID.fullmatch(name))


def mark_read(response: Response, cautions: Iterable[str]) -> Response:
    """The response with the cautions of a saved form added to those that were read today."""
    names = list(dict.fromkeys([*sorted(read_today()), *cautions]))[-MOST:]
    if names:
        response.set_cookie(
            COOKIE, f"{date_today()}:{'.'.join(names)}", max_age=86_400, httponly=True, samesite="Strict"
        )
    return response


__all__ = ["COOKIE", "mark_read", "read_today"]
