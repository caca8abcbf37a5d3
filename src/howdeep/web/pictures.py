"""Small pictures as figures that a template draws: no script, no library, cheap enough for every page."""

from __future__ import annotations

from ..model.frozen import dataclass
from ..model.results import Facts
from ..model.shown_units import step_of, unit_in
from ..readings.compression_shown import compression_shown

WIDTH, HEIGHT, LEFT, FOOT, HEAD = 480, 190, 8, 34, 18
"""Size of the picture of the compression in its own units, and the room for its texts."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One upright bar: place, size and the figure above it."""

    x: float
    y: float
    width: float
    height: float
    kind: str
    """'dry' or 'wet'."""
    figure: str


@dataclass(frozen=True, slots=True)
class Compression:
    """Compression of each cylinder beside what is expected there, ready to be drawn."""

    width: int
    height: int
    foot: int
    """Where the bars stand."""
    bars: tuple[Bar, ...]
    names: tuple[tuple[float, str], ...]
    """(middle, number of the cylinder)"""
    band: tuple[float, float] | None
    """(upper edge, height) of what is expected; None where that is not known."""
    described: str
    """The same in words."""
    wet: bool


def compression_picture(facts: Facts, units: str) -> Compression | None:
    """Dry readings and those with oil; None where none was taken. Figures in the shop's `units`."""
    found = compression_shown(facts.values)
    if found is None:
        return None
    dry, wet, ends = found.dry, found.wet, list(found.expected)
    unit = unit_in("psi", units)
    step, decimals = step_of("psi", unit), 0 if unit == "psi" else 1
    top = max([value for value in (*dry, *wet, *ends) if value is not None] or [1.0]) or 1.0
    room, foot = HEIGHT - FOOT - HEAD, HEIGHT - FOOT

    def shown(value: float) -> str:
        return f"{value * step:.{decimals}f}"

    slot = (WIDTH - 2 * LEFT) / len(dry)
    width = min(42.0, slot * 0.38)
    bars, names, told = [], [], []
    for index, value in enumerate(dry):
        middle = LEFT + slot * (index + 0.5)
        names.append((round(middle, 1), str(index + 1)))
        oiled = wet[index] if index < len(wet) else None
        told.append(
            f"cylinder {index + 1}: "
            + ("not taken" if value is None else f"{shown(value)} {unit}")
            + (f", {shown(oiled)} with oil" if oiled is not None else "")
        )
        for offset, kind, figure in ((-width, "dry", value), (0.0, "wet", oiled)):
            if figure is not None:
                tall = room * max(0.0, figure) / top
                bars.append(
                    Bar(
                        round(middle + offset, 1),
                        round(foot - tall, 1),
                        round(width - 2, 1),
                        round(tall, 1),
                        kind,
                        shown(figure),
                    )
                )
    band = None
    if ends:
        low, high = min(ends), max(ends)
        upper, lower = foot - room * high / top, foot - room * low / top
        band = (round(upper, 1), round(max(1.5, lower - upper), 1))
        span = " to ".join(dict.fromkeys((shown(low), shown(high))))
        told.append(f"expected here {span} {unit}")
    return Compression(
        WIDTH, HEIGHT, foot, tuple(bars), tuple(names), band, "; ".join(told), any(value is not None for value in wet)
    )


__all__ = ["Bar", "Compression", "compression_picture"]
