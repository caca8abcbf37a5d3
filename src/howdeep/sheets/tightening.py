"""A line of tightening as a manual prints it: stages, range, thread, grade, count, dry or oiled."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from .printed_spans import Reading, Span, in_unit, reading_of
from .printed_tokens import Unreadable

COARSE = {"1/4": 20, "5/16": 18, "3/8": 16, "7/16": 14, "1/2": 13, "9/16": 12, "5/8": 11, "3/4": 10, "7/8": 9, "1": 8}
FINE = {"1/4": 28, "5/16": 24, "3/8": 24, "7/16": 20, "1/2": 20, "9/16": 18, "5/8": 18, "3/4": 16, "7/8": 14, "1": 12}
"""Nominal diameter in inches -> threads an inch, unified coarse and fine (ASME B1.1, from memory)."""

_METRIC = re.compile(r"\bm\s?(\d{1,2})(?:\s*[x×]\s*(\d(?:[.,]\d+)?))?\b", re.IGNORECASE)
_PLUG = re.compile(r"\b(10|12|14|18)\s?mm\b", re.IGNORECASE)
_INCH = re.compile(
    r"(?<![\d.])((?:\d )?\d{1,2}/\d{1,2})\s*(?:in\.?|inch|\")?\s*[-x]\s*(\d{1,2})(?!\d|/|\.\d|\s*(?:ft|lb|n|in|mm|kg))"
    r"(?:\s*un[cfs])?",
    re.IGNORECASE,
)
_SERIES = re.compile(
    r"(?<![\d.])((?:\d )?\d{1,2}/\d{1,2})\s*(?:in\.?|inch|\")?\s*(unc|unf|nc|nf|sae|bsf|bsw|whit(?:worth)?)\b",
    re.IGNORECASE,
)
_GRADE = re.compile(
    r"\b(?:grade|class|gr\.?)\s*(\d{1,2}(?:\.\d)?)\b|\b(4\.6|5\.8|8\.8|9\.8|10\.9|12\.9)\b(?!\s*(?:ft|lb|n|kg|m\b))",
    re.IGNORECASE,
)
_COUNT = re.compile(
    r"\b(\d{1,2})\s*(?:off|nuts?|bolts?|studs?|screws?|capscrews?|cap screws?)\b|\b(?:nuts?|bolts?|studs?|screws?)"
    r"\b|\bqty\.?\s*(\d{1,2})",
    re.IGNORECASE,
)


def torque_of(text: str, units: Mapping[str, str]) -> tuple[dict[str, Any], str, Reading]:
    """(plain torque, the same as read back, its figures) of a line. Raises as `reading_of` does."""
    rest = text
    plain: dict[str, Any] = {}
    for step in (_threaded, _graded, _counted):
        rest, more = step(rest)
        plain |= more
    reading = reading_of(rest, "torque", units)
    spans = list(reading.spans)
    if len(spans) > 1 and len({span.low.unit for span in spans}) > 1:
        raise Unreadable(f"'{text}' has stages in two units; type them in one")
    row = [in_unit(span.most, spans[0].low.unit) for span in spans]
    marks = {span.mark for span in spans}
    if marks == {"low", "high"} and len(spans) == 2:
        spans = [Span(min(spans, key=lambda span: span.low.value).low, max(spans, key=lambda span: span.low.value).low)]
    elif row != sorted(row) and not (len(spans) == 2 and "low" in marks):
        raise Unreadable(f"'{text}': stages rise to the last figure")
    final = spans[-1]
    result: dict[str, Any] = {"value": final.most.plain}
    if final.high is not None and final.low.value != final.high.value:
        result["least"] = final.low.plain
    stages = [span.most.plain for span in spans]
    if len(stages) > 1:
        result["stages"] = stages
    lubricated = plain.pop("lubricated", "") or reading.oiled
    result |= plain | ({"lubricated": lubricated} if lubricated else {})
    return result, said(result), reading


def said(plain: Mapping[str, Any]) -> str:
    """'65 ft-lb to 70 ft-lb, stages 25 ft-lb, 45 ft-lb, oiled'."""
    parts = [f"{plain['least']} to {plain['value']}" if plain.get("least") else str(plain.get("value", ""))]
    stages = plain.get("stages") or ()
    parts += [f"stages {', '.join(map(str, stages))}"] if stages else []
    parts += [str(plain[name]) for name in ("size",) if plain.get(name)]
    parts += [f"grade {plain['grade']}"] if plain.get("grade") else []
    parts += [f"{plain['count']} of them"] if plain.get("count") else []
    parts += [{"yes": "oiled", "no": "dry"}[plain["lubricated"]]] if plain.get("lubricated") else []
    return ", ".join(part for part in parts if part)


def _threaded(text: str) -> tuple[str, dict[str, Any]]:
    if match := _METRIC.search(text):
        pitch = f"x{match.group(2).replace(',', '.')}" if match.group(2) else ""
        return _without(text, match), {"size": f"M{match.group(1)}{pitch}"}
    if match := _PLUG.search(text):
        return _without(text, match), {"size": f"{match.group(1)} mm"}
    if match := _SERIES.search(text):
        size, series = match.group(1), match.group(2).lower()
        table = COARSE if series in ("unc", "nc") else FINE if series in ("unf", "nf", "sae") else {}
        return _without(text, match), {"size": f"{size}-{table[size]}" if size in table else f"{size} {series.upper()}"}
    if (match := _INCH.search(text)) and 6 <= int(match.group(2)) <= 40:
        return _without(text, match), {"size": f"{match.group(1)}-{match.group(2)}"}
    return text, {}


def _graded(text: str) -> tuple[str, dict[str, Any]]:
    match = _GRADE.search(text)
    return (_without(text, match), {"grade": match.group(1) or match.group(2)}) if match else (text, {})


def _counted(text: str) -> tuple[str, dict[str, Any]]:
    match = _COUNT.search(text)
    if not match:
        return text, {}
    count = match.group(1) or match.group(2)
    return _without(text, match), {"count": int(count)} if count else {}


def _without(text: str, match: re.Match[str]) -> str:
    return f"{text[: match.start()]} {text[match.end() :]}".replace(" ,", ",").strip(" ,;")
