"""The figures of a fit parted into low, high and limit, by their marks and else by their size."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from ..model.sheet_form import SheetField
from .printed_spans import Number, Reading, Span, decimal_text, in_unit
from .printed_tokens import Unreadable


def band_said(kept: Mapping[str, str], form: SheetField) -> str:
    """'0.0015 in to 0.003 in, limit 0.006 in'."""
    parts = []
    if kept.get("low") and kept.get("high"):
        parts.append(f"{kept['low']} to {kept['high']}")
    elif kept.get("low") or kept.get("high"):
        parts.append(f"{kept['low']}, one figure" if kept.get("low") else f"up to {kept['high']}")
    if kept.get("wear"):
        parts.append(
            {"more": "limit", "less": "least that will do", "amount": "wear limit"}[form.worn or "more"]
            + f" {kept['wear']}"
        )
    return ", ".join(parts)


def fit_of(
    reading: Reading, text: str, path: str, form: SheetField, beside: Mapping[str, Any]
) -> tuple[Number | None, Number | None, Number | None, list[str]]:
    """(low, high, wear, notes) of a fit from its figures, by their marks and else by their size."""
    less, notes = form.worn == "less", []
    limits = [span for span in reading.spans if span.mark == "limit"]
    plain = [span for span in reading.spans if not span.mark]
    lows, highs = ([span for span in reading.spans if span.mark == mark] for mark in ("low", "high"))
    ranged = any(span.high for span in plain)
    if lows and highs and not ranged and len(plain) < 2:
        plain, limits = [Span(lows[0].low, highs[0].most)], limits + plain
        lows = highs = []
    singles = [span for span in plain if not span.high]
    if ranged:
        limits += singles
        plain = [span for span in plain if span.high]
    elif len(singles) == 3 and not limits:
        row = sorted(singles, key=lambda span: in_unit(span.low, form.unit))
        worn = row[0] if less or (form.worn == "amount" and row[0].low.value * 4 < row[1].low.value) else row[2]
        limits = [worn]
        plain = [span for span in row if span is not worn]
    limits += lows if (less and (plain or not highs)) or (plain and lows) else []
    limits += highs if not less and (plain or not lows) else []
    if len(limits) > 1 or len(plain) > (1 if ranged else 2):
        raise Unreadable(f"'{text}' holds more figures than low, high and limit; type it such as {form.like}")
    ends = sorted(
        (end for span in plain for end in (span.low, span.high) if end is not None),
        key=lambda end: in_unit(end, form.unit),
    )
    low, high = (ends[0] if ends else None), (ends[-1] if len(ends) > 1 else None)
    if low is None and lows and not limits:
        low = lows[0].low
    if high is None and highs and not limits:
        high = highs[0].most
    wear = None
    if limits:
        wear = limits[0].low if less else limits[0].most
        base = low or _held(beside.get("low"))
        if base is not None and (form.worn == "amount" or path.endswith(".size")):
            wear, note = _amount(wear, base, form)
            notes += [note] if note else []
    return low, high, wear, notes


def _held(text: Any) -> Number | None:
    """A figure that the sheet holds, as a number."""
    number, _, unit = str(text or "").rpartition(" ")
    try:
        whole, _, part = number.rpartition(" ")
        return Number(Fraction(whole or 0) + Fraction(part), number, unit)
    except (ValueError, ZeroDivisionError):
        return None


def _amount(wear: Number, base: Number, form: SheetField) -> tuple[Number, str]:
    """A wear limit printed as a diameter where an amount is kept, and the other way round, worked out and said."""
    share = in_unit(wear, base.unit) / base.value if base.value else Fraction(0)
    value = in_unit(wear, base.unit)
    if form.worn == "amount" and Fraction(9, 10) < share < Fraction(12, 10) and share > 1:
        left = value - base.value
        return Number(
            left, decimal_text(left), base.unit
        ), f"{wear.plain} is a diameter: {decimal_text(left)} {base.unit} over {base.plain}"
    if form.worn == "less" and share < Fraction(1, 10):
        left = base.value - value
        return Number(left, decimal_text(left), base.unit), f"{wear.plain} is an amount of wear: {base.plain} less that"
    return wear, ""
