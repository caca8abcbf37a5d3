"""One measured value against its limit: good, usable, beyond, too close to call, or too tight.

good        inside what a new part may have
usable      outside that, but inside the wear limit
too_close   within the gauge's own error of the wear limit: measure again
beyond      past the limit
tight       less than the least of a new part: a wrong part or a wrong reading, and no wear
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from ..model.frozen import dataclass
from .figures import Figure

Verdict = Literal["good", "usable", "too_close", "beyond", "tight"]
VERDICTS: tuple[Verdict, ...] = ("good", "usable", "too_close", "beyond")
"""From sound to worst. 'tight' stands outside the order: it is no degree of wear."""
_FUZZ = 1e-9


@dataclass(frozen=True, slots=True)
class Judged:
    """A measured value with its limit and its verdict. All numbers in `unit`."""

    measured: float
    unit: str
    low: float | None
    """Least that a new part may have; None where the sheet and the general limits are silent."""
    new: float | None
    """Most that a new part may have (least, where less is worse)."""
    limit: float | None
    """Wear limit."""
    error: float
    """How far the reading may stand off the truth."""
    verdict: Verdict | None
    """None where there is nothing to judge by."""
    basis: str
    """Where the figure comes from that decided: 'engine sheet', 'general limit <id>' or 'arithmetic'; two where both
    did ('engine sheet and general limit <id>')."""
    note: str = ""
    """What else is to be said, e.g. 'tighter than new' where a clearance is too small."""


def verdict_of(
    measured: float,
    *,
    new: float | None,
    limit: float | None,
    error: float,
    low: float | None = None,
    below: float | None = None,
) -> Verdict | None:
    """Verdict where more is worse; all values in one unit, `error` not negative. None where there is no limit at all.

    A value below `low` by more than the error is tight, a fault of its own that no wear brings about. The band that is
    too close to call lies symmetrically about the limit, unless `below` says how far under it a reading may hide a
    value past it (a feeler leaf that enters proves its own thickness, and may hide anything up to the next). A larger
    value above `low` never gets a better verdict.
    """
    if low is not None and measured < low - error - _FUZZ:
        return "tight"
    if limit is not None:
        if measured > limit + error + _FUZZ:
            return "beyond"
        hidden = error if below is None else below
        if hidden > 0 and measured >= limit - hidden - _FUZZ:
            return "too_close"
    elif new is None or measured > new + error + _FUZZ:
        return None  # past new, and nobody says how far it may go
    return "good" if new is not None and measured <= new + _FUZZ else "usable" if limit is not None else "good"


def judge(
    measured: float,
    unit: str,
    *,
    new: Figure | None = None,
    limit: Figure | None = None,
    error: float,
    low: Figure | None = None,
    worse: Literal["more", "less"] = "more",
    below: float | None = None,
) -> Judged:
    """Judge one value in `unit`. `worse` says which way is wear; with 'less' `new` is the least of a new part."""
    sign = 1.0 if worse == "more" else -1.0
    verdict = verdict_of(
        sign * measured,
        error=error,
        below=below,
        new=None if new is None else sign * new.value,
        limit=None if limit is None else sign * limit.value,
        low=None if low is None or worse == "less" else low.value,
    )
    return Judged(
        measured,
        unit,
        low.value if low else None,
        new.value if new else None,
        limit.value if limit else None,
        error,
        verdict,
        _basis(verdict, low, new, limit),
        "tighter than new" if verdict == "tight" else "",
    )


def _basis(verdict: Verdict | None, low: Figure | None, new: Figure | None, limit: Figure | None) -> str:
    """Where the figures come from that decided the verdict: the new band alone where a part is as good as new, the
    wear limit alone where it is past it or too near, both where it lies between them."""
    by = {"good": (new,) if new else (limit,), "usable": (new, limit), "tight": (low,)}
    decided = by.get(verdict or "", (limit,))
    known = [figure.basis for figure in decided if figure is not None]
    if not known:
        known = [figure.basis for figure in (limit, new, low) if figure is not None][:1]
    return joined_bases(known) or "arithmetic"


def joined_bases(bases: Iterable[str]) -> str:
    """'engine sheet and general limit x': each once, the sheet first."""
    single = {part for basis in bases for part in basis.split(" and ")}
    return " and ".join(sorted(single, key=lambda part: (part != "engine sheet", part)))


def basis_of(judged: Iterable[Judged | None]) -> str:
    """Where the limits come from that decided the worst of several verdicts, and those outside the order ('tight'),
    each judged by its own."""
    known = [item for item in judged if item is not None]
    last = worst(item.verdict for item in known if item.verdict in VERDICTS)
    telling = [item.basis for item in known if item.verdict == last or item.verdict not in (None, *VERDICTS)]
    return joined_bases(telling) or "arithmetic"


def worst(verdicts: Iterable[Verdict | None]) -> Verdict | None:
    """The worst of several verdicts; None only where none is known."""
    known = [verdict for verdict in verdicts if verdict is not None]
    return max(known, key=VERDICTS.index) if known else None
