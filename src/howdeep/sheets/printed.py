"""What a manual prints, or a mechanic says, as the plain values of an engine sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from fractions import Fraction
from typing import Any

from ..errors import nearest
from ..knowledge.sheet_guard import unit_of
from ..model.frozen import dataclass
from ..model.quantity import DIMENSION
from ..model.sheet_form import SheetField
from .printed_fits import band_said, fit_of
from .printed_spans import Number, Reading, UnitWanted, decimal_text, in_unit, reading_of
from .printed_tokens import Unreadable, commas
from .tightening import torque_of
from .words import number_of, word_of

__all__ = ["Printed", "Unreadable", "printed"]


@dataclass(frozen=True, slots=True)
class Printed:
    """What was typed for one field, as it goes into the sheet."""

    value: Any
    """Plain value of the field."""
    said: str
    """The same, as a person reads it back."""
    others: dict[str, Any] = field(default_factory=dict)
    """Other fields that the same line fills: the speed, the length, hot or cold."""
    unit: str = ""
    """Unit in which the figures were typed; empty where there is none."""
    explicit: bool = False
    """True where the line says the unit itself."""


def printed(
    text: str, path: str, form: SheetField, units: Mapping[str, str], beside: Mapping[str, Any] | None = None
) -> Printed:
    """Read what was typed for a field. `units`: dimension -> unit of bare figures; `beside`: what the sheet holds at
    the field, for a limit that is typed alone.

    Raises Unreadable with what is wrong and how it could be typed, UnitWanted where a bare figure needs its unit.
    """
    text = " ".join(text.split())
    if not text:
        raise Unreadable("nothing was typed")
    if len(text) > 500:
        raise Unreadable("that is too long for a figure or a word")
    return _READERS[form.kind](text, path, form, units, dict(beside or {}))


def _word(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    word = word_of(text, form)
    if word is None:
        raise Unreadable(not_a_word(text, form))
    return Printed(word, word.replace("_", " "))


def not_a_word(text: str, form: SheetField) -> str:
    """What may be said instead, in words."""
    words = list(form.words) or ["yes", "no"]
    close = nearest(text.lower(), {*words, *(also for said in form.words.values() for also in said)})
    return f"'{text}' is none of: {', '.join(words)}" + (f"; {close}" if close else "")


def _count(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    number = number_of(text)
    if number is None:
        raise Unreadable(f"'{text}' is not a whole number such as {form.like}")
    if not form.least <= number <= form.most:
        raise Unreadable(f"{number} is not {form.least} to {form.most}")
    return Printed(number, str(number))


def _ratio(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    plain = re.sub(
        r"\bto\b|/|:", " ", re.sub(r"(\d+ ?\d/[248])", lambda match: _mixed(match.group()), text.replace("½", " 1/2"))
    )
    numbers = [Fraction(item) for item in re.findall(r"\d+\.\d+|\.\d+|\d+", commas(plain, ""))]
    rest = re.sub(r"[\d.,:\s\-–]+|to|ratio|compression|about|approx", "", plain.lower())
    over = [item for item in numbers if item > 1]
    if rest or not 1 <= len(over) <= 2 or len(numbers) - len(over) > 1:
        raise Unreadable(f"'{text}' is no ratio such as {form.like}")
    value = float(sum(over) / len(over))
    return Printed(round(value, 3), f"{value:g} to 1")


def _mixed(text: str) -> str:
    parts = re.fullmatch(r"(\d+?) ?(\d)/(\d)", text)
    return decimal_text(int(parts.group(1)) + Fraction(int(parts.group(2)), int(parts.group(3)))) if parts else text


def _order(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    digits = re.findall(r"\d", text)
    if not digits or re.search(r"[^\d\s,;.\-–]", re.sub(r"\b(?:and|then)\b", "", text)):
        raise Unreadable(f"'{text}' is no firing order such as {form.like}")
    if sorted(map(int, digits)) != list(range(1, len(digits) + 1)):
        raise Unreadable(f"'{text}' does not name each cylinder once")
    return Printed([int(item) for item in digits], "-".join(digits))


def _figure(text: str, path: str, form: SheetField, units: Mapping[str, str], beside: Any) -> Printed:
    reading = reading_of(text, DIMENSION[form.unit], units)
    spans = reading.spans
    if len(spans) > 2 or (len(spans) == 2 and (spans[0].high or spans[1].high)):
        raise Unreadable(f"'{text}' holds several figures; one is wanted, such as {form.like}")
    ends = [end for span in spans for end in (span.low, span.high) if end is not None]
    ends.sort(key=lambda end: in_unit(end, form.unit))
    note = ""
    if len(ends) == 1:
        number = ends[0]
    elif form.pick == "middle":
        total = sum((in_unit(end, ends[0].unit) for end in ends), Fraction(0)) / len(ends)
        number, note = Number(total, decimal_text(total), ends[0].unit), "the middle of the range"
    else:
        number = ends[0] if form.pick == "least" else ends[-1]
        note = "the smaller of the two" if form.pick == "least" else "the larger of the two"
    heat = {form.state: reading.heat} if form.state and reading.heat else {}
    others, behind = _behind(reading, form, units)
    others |= heat
    said = number.plain + (f" {reading.heat}" if heat else "") + behind + (f", {note}" if note else "")
    return Printed(number.plain, said, others, reading.unit, reading.explicit)


def _band(text: str, path: str, form: SheetField, units: Mapping[str, str], beside: Mapping[str, Any]) -> Printed:
    reading = reading_of(text, DIMENSION[form.unit], units)
    low, high, wear, notes = fit_of(reading, text, path, form, beside)
    kept = {name: number.plain for name, number in (("low", low), ("high", high), ("wear", wear)) if number is not None}
    others, behind = _behind(reading, form, units)
    return Printed(
        {**beside, **kept},
        band_said(kept, form) + behind + "".join(f"; {note}" for note in notes),
        others,
        reading.unit,
        reading.explicit,
    )


def _behind(reading: Reading, form: SheetField, units: Mapping[str, str]) -> tuple[dict[str, Any], str]:
    """What stands behind 'at' for the field that takes it, and what is said of it."""
    if reading.at is None:
        return {}, ""
    number = reading.at.low
    if not form.at:
        return {}, f"; 'at {number.plain}' has no place in the sheet and is left out"
    dimension = DIMENSION[unit_of(form.at)]
    if number.unit and DIMENSION[number.unit] != dimension:
        raise Unreadable(f"'at {number.plain}': a {dimension} is wanted behind 'at'")
    if not number.unit:
        unit = "rpm" if dimension == "speed" else units.get(dimension, "")
        if not unit:
            raise UnitWanted(dimension)
        number = Number(number.value, number.text, unit)
    return {form.at: number.plain}, f", at {number.plain}"


def _sizes(text: str, path: str, form: SheetField, units: Mapping[str, str], beside: Any) -> Printed:
    reading = reading_of(re.sub(r"(?<![\w.])[+-](?=\s?\.?\d)", " ", text), DIMENSION[form.unit], units)
    numbers = [end for span in reading.spans for end in (span.low, span.high) if end is not None and end.value > 0]
    if reading.step is not None and len(numbers) == 2 and reading.step.value > 0:
        first, last = numbers
        count = (last.value - first.value) / reading.step.value
        if count.denominator != 1 or not 1 <= count <= 40:
            raise Unreadable(f"steps of {reading.step.plain} do not lead from {first.plain} to {last.plain}")
        places = max(len(item.text.partition(".")[2]) for item in (first, last, reading.step))
        numbers = [
            Number(value, f"{float(value):.{places}f}", first.unit)
            for value in (first.value + index * reading.step.value for index in range(int(count) + 1))
        ]
    if not numbers:
        raise Unreadable(f"'{text}' holds no size such as {form.like}")
    numbers = list({in_unit(item, form.unit): item for item in numbers}.values())
    numbers.sort(key=lambda item: in_unit(item, form.unit))
    return Printed(
        [item.plain for item in numbers], ", ".join(item.plain for item in numbers), {}, reading.unit, reading.explicit
    )


def _torque(text: str, path: str, form: SheetField, units: Mapping[str, str], beside: Mapping[str, Any]) -> Printed:
    plain, said, reading = torque_of(text, units)
    kept = {key: item for key, item in beside.items() if key not in ("value", "least", "stages")}
    return Printed({**kept, **plain}, said, {}, reading.unit, reading.explicit)


def _hours(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    plain = commas(text.lower().replace("½", " 1/2").replace("¼", " 1/4").replace("¾", " 3/4"), "")
    if clock := re.fullmatch(r"(\d{1,3})\s*(?::|h|hrs?|hours?)\s*(\d{1,2})\s*(?:m|min|minutes?)?", plain):
        value = Fraction(int(clock.group(1))) + Fraction(int(clock.group(2)), 60)
    elif minutes := re.fullmatch(r"(\d+)\s*(?:m|min|mins|minutes)", plain):
        value = Fraction(int(minutes.group(1)), 60)
    elif number := re.fullmatch(r"(?:(\d+)[ -])?(\d+)/(\d+)\s*(?:h|hrs?|hours?)?\.?", plain):
        value = int(number.group(1) or 0) + Fraction(int(number.group(2)), int(number.group(3)) or 1)
    elif number := re.fullmatch(r"(\d*\.?\d+)\s*(?:h|hrs?|hours?)?\.?", plain):
        value = Fraction(number.group(1))
    else:
        raise Unreadable(f"'{text}' is not hours such as {form.like}, 3:30 or 210 min")
    hours = round(float(value), 2)
    return Printed(int(hours) if hours == int(hours) else hours, f"{hours:g} h")


def _money(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    bare = re.sub(r"[^\d.,]", "", text).strip(".,")
    if re.fullmatch(r"\d{1,3}(?:[.,]\d{3})+", bare):
        bare = re.sub(r"[.,]", "", bare)
    elif len(bare) > 3 and bare[-3] in ".,":
        bare = re.sub(r"[.,]", "", bare[:-3]) + "." + bare[-2:]
    if not re.fullmatch(r"\d+(?:\.\d{1,2})?", bare) or re.search(r"\d\s*k\b", text.lower()) or "-" in text.rstrip("-–"):
        raise Unreadable(f"'{text}' is not a sum such as {form.like}")
    return Printed(f"{float(bare):.2f}", f"{float(bare):,.2f}")


def _text(text: str, path: str, form: SheetField, units: Any, beside: Any) -> Printed:
    return Printed(text, text)


_READERS = {
    "word": _word,
    "yes_no": _word,
    "count": _count,
    "ratio": _ratio,
    "order": _order,
    "figure": _figure,
    "band": _band,
    "sizes": _sizes,
    "torque": _torque,
    "hours": _hours,
    "money": _money,
    "text": _text,
}
