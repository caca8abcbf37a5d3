"""Tightening: stages, and the order from the centre outward. Threads and grades: knowledge/fasteners.py."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, hypot

from ..errors import HowdeepError
from ..knowledge.fasteners import (
    NUT_FACTORS,
    PLAUSIBLE,
    PROOF_MPA,
    Thread,
    TorqueCheck,
    check,
    pull_n,
    suggested,
    thread,
    torque_nm,
)
from ..model.quantity import parse

__all__ = [
    "NUT_FACTORS",
    "PLAUSIBLE",
    "PROOF_MPA",
    "Thread",
    "TorqueCheck",
    "check",
    "pull_n",
    "rows_of",
    "sequence",
    "stages",
    "suggested",
    "thread",
    "torque_nm",
]


def stages(final: str, given: Sequence[str] = ()) -> tuple[str, ...]:
    """The sheet's stages, else one third, two thirds and the full figure, in the sheet's own unit. The last stage is
    always the final figure. Raises QuantityError for what is no torque."""
    full = parse(final, unit="ft-lb")
    if given:
        texts = tuple(str(parse(text, unit="ft-lb")) for text in given)
        return texts if parse(given[-1], unit="ft-lb").to("Nm") == full.to("Nm") else (*texts, str(full))
    return (*(f"{round(full.value * share):g} {full.unit}" for share in (1 / 3, 2 / 3)), str(full))


def sequence(places: Sequence[tuple[float, float]]) -> tuple[int, ...]:
    """Order of tightening from the centre outward: numbers (from 1) of fasteners at the places (x, y), in any unit.

    Rings of equal distance from the middle are done crosswise, each next one as far as possible from the last."""
    if not places:
        return ()
    middle_x = (min(x for x, _ in places) + max(x for x, _ in places)) / 2
    middle_y = (min(y for _, y in places) + max(y for _, y in places)) / 2
    away = {index: round(hypot(x - middle_x, y - middle_y), 6) for index, (x, y) in enumerate(places)}
    order: list[int] = []
    for distance in sorted(set(away.values())):
        ring = [index for index in away if away[index] == distance]
        ring.sort(key=lambda index: (atan2(places[index][1] - middle_y, places[index][0] - middle_x), index))
        while ring:
            last = places[order[-1]] if order else None
            pick = (
                ring[0]
                if last is None
                else max(
                    ring,
                    key=lambda index: (round(hypot(places[index][0] - last[0], places[index][1] - last[1]), 6), -index),
                )
            )
            ring.remove(pick)
            order.append(pick)
    return tuple(index + 1 for index in order)


def rows_of(count: int, rows: int = 2) -> tuple[tuple[float, float], ...]:
    """Places of `count` fasteners in straight rows, numbered along each row from the front, row by row; an odd one out
    stands in the first rows. Raises HowdeepError for a count or rows below one."""
    if count < 1 or rows < 1:
        raise HowdeepError("a joint has at least one fastener in one row")
    places: list[tuple[float, float]] = []
    for row in range(rows):
        here = count // rows + (1 if row < count % rows else 0)
        places += [(float(column) - (here - 1) / 2, float(row)) for column in range(here)]
    return tuple(places)
