"""Compression as bars of plain characters, for a terminal of any width, a pipe or a screen reader. Computes nothing of
the engine: every figure comes from the facts."""

from __future__ import annotations

from collections.abc import Sequence

from ..model.results import Facts
from ..model.shown_units import step_of, unit_in
from ..readings.compression_shown import compression_shown

DRY, WET, EXPECTED = "#", "+", "|"
LEAST_WIDTH = 40


def compression_bars(facts: Facts, width: int = 78, units: str = "") -> str:
    """Bars of dry and wet compression per cylinder, with the expected band marked; empty where none was measured.

    One line a reading, the figure behind the bar in the shop's `units`, never wider than `width` (at least 40)."""
    found = compression_shown(facts.values)
    return "" if found is None else "\n".join(lines(found.dry, found.wet, found.expected, width, unit_in("psi", units)))


def lines(
    dry: Sequence[float | None], wet: Sequence[float | None], expected: Sequence[float], width: int, unit: str = "psi"
) -> list[str]:
    """The lines of `compression_bars`. Readings in psi, one per cylinder; `expected` none, one or two figures, all
    shown in `unit`."""
    step, decimals = step_of("psi", unit), 0 if unit == "psi" else 1
    names = [(f"cylinder {index + 1} dry", value, DRY) for index, value in enumerate(dry)]
    if any(value is not None for value in wet):
        named = []
        for index, row in enumerate(names):
            named += [row, ("wet", wet[index], WET)]
        names = named
    label = max(len(name) for name, _, _ in names) + 1
    room = max(LEAST_WIDTH, width) - label - len(f" 99.9 {unit}" if decimals else f" 999 {unit}")
    top = max([value for _, value, _ in names if value is not None] + list(expected) + [1.0])
    places = sorted({min(room - 1, round(figure / top * room)) for figure in expected})
    out = []
    for name, value, mark in names:
        if value is None:
            out.append(f"{name:>{label - 1}} not taken")
            continue
        filled = round(max(0.0, value) / top * room)
        cells = [mark if column < filled else " " for column in range(room)]
        for place in places:
            cells[place] = EXPECTED
        out.append(f"{name:>{label - 1}} {''.join(cells)} {value * step:{3 + bool(decimals)}.{decimals}f} {unit}")
    if expected:
        span = " to ".join(dict.fromkeys(f"{figure * step:.{decimals}f}" for figure in sorted(expected)))
        out.append(f"{'':>{label - 1}} {EXPECTED} expected here: {span} {unit}")
    return [line.rstrip() for line in out]
