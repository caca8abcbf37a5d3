"""Which size to order, and why not each other one. Inches throughout; every size in the sheet's own list.

The rule that none of these functions breaks: a size is chosen only where the result lies inside the band it claims.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from ..model.frozen import dataclass
from .figures import Band
from .journals import clearance_by_sizes, shell_bore

CLEAN_UP = 0.001
"""What a grinder needs on the diameter to be sure of cleaning up a worn journal (judgement)."""
BORE_CLEAN_UP = 0.003
"""What a boring bar needs on the diameter: a bore wears to one side, and honing takes its share (judgement)."""
FUZZ = 1e-7
MM_TO_THE_INCH, ROUNDING = 25.4, 0.01
"""Millimetres of an inch (exact by definition), and what is lost where a size in one is kept in the other."""
ALSO_FITS, MORE_THAN_NEEDED = "would also fit", "takes off more than is needed"
"""Words of a size that was not chosen and would do all the same."""


@dataclass(frozen=True, slots=True)
class Rejected:
    """A size that was not chosen."""

    size: float
    why: str


@dataclass(frozen=True, slots=True)
class ShellChoice:
    """Bearing shells for one or more journals."""

    undersize: float | None
    """None where no shell on the sheet gives a clearance inside the band."""
    low: float | None
    """Least clearance it gives on these journals."""
    high: float | None
    """Greatest clearance it gives on these journals."""
    rejected: tuple[Rejected, ...]


def as_sold(size: float) -> str:
    """A size in inches as its sheet lists it: '0.020 in', but '0.50 mm' where it is no whole thousandth of an inch and
    is a whole twentieth of a millimetre. The two are different parts."""
    thousandths, twentieths = size * 1000, size * MM_TO_THE_INCH * 20
    metric = abs(thousandths - round(thousandths)) > ROUNDING and abs(twentieths - round(twentieths)) < ROUNDING
    return f"{size * MM_TO_THE_INCH:.2f} mm" if metric else f"{size:.3f} in"


def undersize_text(size: float) -> str:
    """'standard' or '0.002 in under'."""
    return "standard" if size == 0 else f"{as_sold(size)} under"


def ground_to_text(size: float, *, last: bool) -> str:
    """'0.010 in under' or '0.040 in under, the last size sold'."""
    return f"{undersize_text(size)}{', the last size sold' if last else ''}"


def oversize_text(size: float) -> str:
    """'standard' or '0.020 in over'."""
    return "standard" if size == 0 else f"{as_sold(size)} over"


def choose_shell(
    journals: Sequence[tuple[float, float]],
    standard: Band,
    clearance: Band,
    undersizes: Sequence[float],
    *,
    up_to: float | None = None,
    slack: float = 0.0,
) -> ShellChoice:
    """One shell size for journals given as (least, most) diameter.

    A size fits where its clearance lies inside the sheet's band at every reading of every journal. Of several, the one
    whose middle lies nearest the middle of the band; of two as near, the smaller clearance (the larger undersize).
    `up_to` puts the wear limit in the place of the band's high end; `slack` widens the band at both ends.
    """
    shell = shell_bore(standard, clearance)
    middle = clearance.middle()
    if shell is None or not journals or middle is None or clearance.low is None or clearance.high is None:
        return ShellChoice(None, None, None, ())
    low = clearance.low.value - slack
    high = (clearance.high.value if up_to is None else up_to) + slack
    fits, rejected = [], []
    for size in sorted({0.0, *undersizes}):
        least = min(clearance_by_sizes(most, shell, size) for _, most in journals)
        most = max(clearance_by_sizes(small, shell, size) for small, _ in journals)
        if least < low - FUZZ:
            rejected.append(
                Rejected(
                    size,
                    f"{undersize_text(size)} would leave {least:.4f} in, under the {low:.4f} in wanted"
                    if least >= 0
                    else f"{undersize_text(size)} would bind by {-least:.4f} in",
                )
            )
        elif most > high + FUZZ:
            rejected.append(
                Rejected(size, f"{undersize_text(size)} would leave {most:.4f} in, over the {high:.4f} in allowed")
            )
        else:
            fits.append((round(abs((least + most) / 2 - middle), 6), -size, least, most))
    if not fits:
        return ShellChoice(None, None, None, tuple(rejected))
    fits.sort()
    _, chosen, least, most = fits[0]
    others = tuple(
        Rejected(
            -size,
            f"{undersize_text(-size)} {ALSO_FITS} ({a:.4f} to {b:.4f} in) but lies further from "
            "the middle of the band or leaves the wider gap",
        )
        for _, size, a, b in fits[1:]
    )
    return ShellChoice(-chosen, least, most, tuple(sorted((*rejected, *others), key=lambda item: item.size)))


@dataclass(frozen=True, slots=True)
class Grind:
    """Undersize to which every journal of a kind is ground."""

    undersize: float | None
    """None where no undersize cleans up every journal: another crankshaft."""
    rejected: tuple[Rejected, ...]
    last: bool = False
    """Whether no larger undersize is sold that this shaft could be ground to later."""


def choose_grind(
    journals: Sequence[tuple[float, float]],
    standard: Band,
    undersizes: Sequence[float],
    *,
    smallest: float | None = None,
    most_under: float | None = None,
    clean_up: float = CLEAN_UP,
) -> Grind:
    """Smallest undersize at which the worst journal cleans up; all of a kind are ground alike.

    A journal cleans up where its least reading less `clean_up` still reaches the low limit of the new size. `smallest`
    is the sheet's smallest diameter, `most_under` the general limit of undersize.
    """
    if standard.low is None or not journals:
        return Grind(None, ())
    low, worst = standard.low.value, min(least for least, _ in journals)

    def too_far(size: float) -> str:
        if smallest is not None and low - size < smallest - FUZZ:
            return f"would go below the smallest diameter {smallest:.4f} in"
        if smallest is None and most_under is not None and size > most_under + FUZZ:
            return f"is more than the {most_under:.3f} in a crankshaft is ground"
        return ""

    def why_not(size: float) -> str:
        target = low - size
        if why := too_far(size):
            return why
        if worst - clean_up < target - FUZZ:
            return f"would not clean up the smallest journal ({worst:.4f} in against {target:.4f} in)"
        return ""

    chosen, rejected = _smallest(undersizes, undersize_text, why_not, MORE_THAN_NEEDED)
    later = [size for size in undersizes if chosen is not None and size > chosen + FUZZ and not too_far(size)]
    return Grind(chosen, rejected, chosen is not None and not later)


@dataclass(frozen=True, slots=True)
class BoreChoice:
    """Size to which every bore is machined."""

    oversize: float | None
    """None where no oversize on the sheet cleans up every bore: sleeves."""
    rejected: tuple[Rejected, ...]


def choose_bore(
    most: Sequence[float],
    standard: Band,
    oversizes: Sequence[float],
    *,
    now: Sequence[float] = (),
    clean_up: float = BORE_CLEAN_UP,
) -> BoreChoice:
    """Smallest oversize at which the worst bore cleans up, all bored alike.

    `most` is the largest reading of each bore; `now` the oversize each stands at (none may get smaller). A bore cleans
    up where its largest reading and `clean_up` stay within the high limit of the new size.
    """
    if standard.low is None or not most:
        return BoreChoice(None, ())
    top = standard.high.value if standard.high else standard.low.value
    worst, floor = max(most), max(now, default=0.0)

    def why_not(size: float) -> str:
        if size < floor - FUZZ:
            return f": one bore already stands at {oversize_text(floor)}"
        if worst + clean_up > top + size + FUZZ:
            return f"would not clean up the worst bore ({worst:.4f} in against {top + size:.4f} in)"
        return ""

    more = f"{MORE_THAN_NEEDED}, and leaves less for the next time"
    return BoreChoice(*_smallest(oversizes, oversize_text, why_not, more))


def _smallest(
    sizes: Iterable[float], told: Callable[[float], str], why_not: Callable[[float], str], more: str
) -> tuple[float | None, tuple[Rejected, ...]]:
    """The smallest size that nothing speaks against, None where there is none, and why each other is not it. `told`: a
    size in words; `why_not`: what speaks against one, empty where nothing does; `more`: what is said of all beyond it.
    """
    chosen: float | None = None
    rejected = []
    for size in sorted(size for size in sizes if size > 0):
        why = more if chosen is not None else why_not(size)
        if why:
            rejected.append(Rejected(size, f"{told(size)}{'' if why.startswith(':') else ' '}{why}"))
        else:
            chosen = size
    return chosen, tuple(rejected)


@dataclass(frozen=True, slots=True)
class RingChoice:
    """Rings for the pistons that are in the engine."""

    oversizes: tuple[float | None, ...]
    """For each piston; None where it is not clear."""
    rejected: tuple[Rejected, ...]


def choose_rings(fitted: Sequence[float | None], oversizes: Sequence[float]) -> RingChoice:
    """Ring size for each piston from the oversize its skirt shows: rings always go with the piston in the bore."""
    known = {size for size in fitted if size is not None}
    rejected = (
        tuple(
            Rejected(size, f"{oversize_text(size)}: no piston in this engine has that size")
            for size in sorted({0.0, *oversizes})
            if size not in known
        )
        if known
        else ()
    )
    return RingChoice(tuple(fitted), rejected)


def gap_confirms(gap: float, wanted: Band, error: float) -> bool | None:
    """Whether the end gap of a ring of the chosen size, square in the least-worn part of the bore, lies in the sheet's
    band (within the error of the gauge): the second check on the size. None where there is no band."""
    if wanted.low is None or wanted.high is None:
        return None
    return wanted.low.value - error <= gap <= wanted.high.value + error


@dataclass(frozen=True, slots=True)
class ShimChoice:
    """Shims to take from each side of a white-metal bearing."""

    count: int | None
    """None where no whole number of shims brings the clearance inside the band."""
    leaves: float | None
    """Clearance that is left."""


def choose_shims(clearance: float, wanted: Band, thickness: float) -> ShimChoice:
    """How many shims of `thickness` to take from each side: one from each side lowers the clearance by one thickness.

    The fewest that bring it inside the band; none where it is inside already. `thickness` is positive."""
    if wanted.low is None or wanted.high is None or thickness <= 0:
        return ShimChoice(None, None)
    count = 0
    while clearance - count * thickness > wanted.high.value + FUZZ:
        count += 1
    left = clearance - count * thickness
    return ShimChoice(count, left) if left >= wanted.low.value - FUZZ else ShimChoice(None, None)
