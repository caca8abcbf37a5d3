"""What day it is: asked in one place, so that every paper of one moment bears the same date."""

import datetime


def date_today() -> str:
    """The day by this machine's clock, as 2026-01-31."""
    return datetime.date.today().isoformat()


__all__ = ["date_today"]
