"""Numbers as they are typed at the bench: a whole row at once, blanks or commas between, the unit once.

"72 70 65 74", "72,70,65,74", "72; 70; 65; 74 psi", "0,05 0,06 mm", "3-7/16 in". A comma is a decimal comma where blanks
or semicolons already part the row into as many figures as are wanted, else it parts them. A unit behind the last figure
holds for all; "?", "-" or "x" stands for a figure that was not taken. "3=65" corrects the third alone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..errors import HowdeepError
from ..model.quantity import DIMENSION, UNITS, QuantityError, parse

NOT_TAKEN = ("?", "-", "x", "X")
_CHUNK = re.compile(r"[^\s;]+")
_FIGURE = re.compile(r"[-+]?(?:\d+-\d+/\d+|\d[\d.,]*(?:/\d[\d.,]*)?|[.,]\d+(?:/\d+)?)")
_COMMA = re.compile(r"([-+]?[0-9]*),([0-9]+)((?:[ ]*[^0-9,.\s].*)?)")
_ONE = re.compile(r"\s*(\d{1,2})\s*[=:]\s*([^=:;]+?)\s*(?:[;]|(?=\s\d{1,2}\s*[=:])|\Z)")


class UnitWanted(Exception):
    """Bare figures of a dimension that has several units."""

    def __init__(self, unit: str):
        super().__init__(unit)
        self.unit = unit


def with_point(text: str) -> str:
    """'3,4375 in' and '0,002' with a point.

    '1,850' stays: it may be thousands, and is read so; where it was meant otherwise, the value's plausible range tells.
    """
    match = _COMMA.fullmatch(text)
    if not match or (len(match[2]) == 3 and len(match[1].lstrip("+-")) <= 3 and match[1].strip("+-0")):
        return text
    return f"{match[1] or '0'}.{match[2]}{match[3]}"


def row_of(typed: str, count: int, *, unit: str, bare: bool = False, default: str = "") -> list[str | None]:
    """A row of `count` figures as the texts that a job keeps, each with its unit; None where one was not taken.

    `unit` is the unit of the reading, `bare` whether it takes figures without one, `default` the unit of bare figures
    where that is settled. Raises HowdeepError where the count is wrong or a figure is none, UnitWanted where the
    figures have no unit and need one.
    """
    figures = _figures(typed, count)
    named = {spelled for _, spelled in figures if spelled}
    # '86,025 mm' is a bore, not eighty-six thousand: lengths are never written with thousands
    point = _decimal if unit and DIMENSION[unit] == "length" else with_point
    if len(named) > 1 and any(not spelled and text not in NOT_TAKEN for text, spelled in figures):
        raise HowdeepError(f"several units were typed ({', '.join(sorted(named))}), and some figures have none")
    common = named.pop() if len(named) == 1 else ""
    result: list[str | None] = []
    for text, spelled in figures:
        if text in NOT_TAKEN:
            result.append(None)
            continue
        text = point(text)
        told = spelled or common or (default if "/" not in text or unit != "percent" else "")
        if not told and needs_unit(unit, bare) and not (unit == "percent" and "/" in text):
            raise UnitWanted(unit)
        made = f"{text} {told}".strip()
        if not (unit == "percent" and "/" in text):
            try:
                parse(made, unit=unit, bare=bare or not told)
            except QuantityError as error:
                raise HowdeepError(str(error)) from None
        result.append(made)
    return result


def _decimal(text: str) -> str:
    return re.sub(r"^([-+]?)(\d*),(\d+)$", lambda match: f"{match[1]}{match[2] or '0'}.{match[3]}", text)


def needs_unit(unit: str, bare: bool) -> bool:
    """Whether a bare figure could be in more than one unit."""
    return bool(unit) and not bare and len(UNITS[DIMENSION[unit]]) > 1 and DIMENSION[unit] != "voltage"


def _figures(typed: str, count: int) -> list[tuple[str, str]]:
    """(figure, unit behind it) as many as are wanted. Raises HowdeepError where there are more or fewer."""
    for text in (typed, re.sub(r",(?=\s|\Z)", " ", typed), typed.replace(",", " ")):
        figures = _split(text)
        if figures is not None and len(figures) == count:
            return figures
    plain = _split(typed.replace(",", " ")) or []
    if count == 1 and re.fullmatch(r"[-+]?\d+[ -]\d+/\d+.*", typed.strip()):  # 3 7/16 in
        match = re.fullmatch(r"([-+]?\d+)[ -](\d+/\d+)\s*(.*)", typed.strip())
        assert match is not None
        return [(f"{match[1]}-{match[2]}", match[3].strip())]
    if not plain:
        raise HowdeepError(f"'{typed}' holds no figure")
    raise HowdeepError(
        f"{len(plain)} figure{'s were' if len(plain) != 1 else ' was'} typed; {count} "
        f"{'are' if count != 1 else 'is'} wanted (? for one that was not taken)"
    )


def _split(text: str) -> list[tuple[str, str]] | None:
    """Figures with the units behind them, parted by blanks and semicolons; None where a chunk is neither."""
    found: list[list[str]] = []
    for chunk in _CHUNK.findall(text):
        if chunk in NOT_TAKEN:
            found.append([chunk, ""])
            continue
        match = _FIGURE.match(chunk)
        if match is not None:
            figure = match.group().rstrip(",")
            if figure.count(",") > 1 and not re.fullmatch(r"[-+]?\d{1,3}(?:,\d{3})+", figure):
                return None
            found.append([figure, chunk[match.end() :].lstrip(",")])
        elif found and re.search(r"[^\W\d]|[%\"°]", chunk):
            found[-1][1] = f"{found[-1][1]} {chunk}".strip()
        else:
            return None
    return [(figure, unit.strip(" ,")) for figure, unit in found]


def corrections(typed: str, count: int) -> dict[int, str] | None:
    """'3=65' or '2 = 71 psi; 4: 60' as place -> text; None where it is no correction. Raises HowdeepError for a place
    that is not there."""
    if not re.match(r"\s*\d{1,2}\s*[=:]", typed):
        return None
    found, end = {}, 0
    while end < len(typed.rstrip()):
        match = _ONE.match(typed, end)
        if match is None:
            return None
        found[int(match[1])] = match[2]
        end = match.end()
    wrong = [place for place in found if not 1 <= place <= count]
    if wrong:
        raise HowdeepError(f"there is no {wrong[0]} here; 1 to {count}")
    return found


def corrected(stored: Mapping[int, object], changes: Mapping[int, object]) -> dict[int, object]:
    """The stored values with some of them changed; None takes one away."""
    both = {**stored, **changes}
    return {place: both[place] for place in sorted(both) if both[place] is not None}
