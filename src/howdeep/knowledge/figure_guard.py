"""One guard for every figure that a shop writes: what cannot be is refused, what can hardly be is questioned.

Ranges and orders are data (rules/plausible.yaml for engine sheets, rules/plausible/ for prices and rules); here is what
they are applied with. What the figures belong to says by what names they go, in which unit they are compared and what
stands beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import field

from ..errors import nearest
from ..model.frozen import dataclass
from ..model.plausible import Plausible
from ..model.quantity import DIMENSION, UNITS, Quantity

Path_ = tuple[str | int, ...]
FUZZ = 1e-9
_COMMON = {
    "length": ("in", "mm", "thou", "cm"),
    "pressure": ("psi", "kPa", "bar", "kg/cm2"),
    "torque": ("ft-lb", "Nm", "in-lb"),
    "force": ("lbf", "N"),
    "time": ("h", "min"),
}
_SHIFTS = (
    (0.1, "one place too far right"),
    (10.0, "one place too far left"),
    (0.01, "two places too far right"),
    (100.0, "two places too far left"),
)


@dataclass(frozen=True, slots=True)
class Number:
    """A figure: its value in the unit in which it is compared, as typed, and with its unit where it has one."""

    value: float
    text: str
    typed: Quantity | None = None


def told(path: Path_) -> str:
    """'torques.head.value', as a file and `sure` name a figure."""
    return ".".join(str(part) for part in path)


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is wrong or questioned of one figure, not yet at its place in a file."""

    path: Path_
    message: str
    hint: str = ""
    at_key: bool = False


@dataclass(slots=True)
class Guard:
    """Gathers what is refused and what is questioned; one question for a figure, the first that is put."""

    numbers: Mapping[Path_, Number]
    unit_of: Callable[[Path_], str]
    """The unit in which a figure is compared; empty for plain numbers."""
    beside: Callable[[Path_, Path_], Number | None]
    """(figure, name of what it is held to) -> that figure; None where there is none."""
    settle: Callable[[Path_], str]
    """How a question about a figure is settled where it is right."""
    blamed: Callable[[Path_, Path_], Path_] = lambda path, _: path
    """Which of two figures that are out of order is told."""
    refused: list[Doubt] = field(default_factory=list)
    questions: dict[Path_, Doubt] = field(default_factory=dict)
    odd: set[Path_] = field(default_factory=set)
    """Figures that are questioned by themselves."""
    held: dict[Path_, Path_] = field(default_factory=dict)
    """Figure that is questioned only beside another -> that other one."""

    def refuse(self, path: Path_, message: str, hint: str = "", *, at_key: bool = False) -> None:
        self.refused.append(Doubt(path, message, hint, at_key))

    def question(self, path: Path_, message: str, hint: str = "") -> None:
        if path not in self.questions:
            ask = f"if it is right, {self.settle(path)}"
            self.questions[path] = Doubt(path, message, f"{hint.rstrip('.')}; {ask}" if hint else ask)


def hold_all(guard: Guard, rows: Iterable[Plausible], fuel: str = "") -> None:
    """Hold every figure to the rows of a table."""
    grouped = by_length(guard.numbers)
    for row in rows:
        if not row.zero and row.fuel in ("", fuel):
            for path, other in paths_of(row, grouped):
                _hold(guard, row, path, other)
    for path, other in guard.held.items():
        if other in guard.odd and path not in guard.odd:  # the other one is the slip, and is told already
            guard.questions.pop(path, None)


def by_length(paths: Iterable[Path_]) -> Mapping[int, list[Path_]]:
    """Paths by how many parts they have."""
    found: dict[int, list[Path_]] = {}
    for path in paths:
        found.setdefault(len(path), []).append(path)
    return found


def paths_of(row: Plausible, grouped: Mapping[int, list[Path_]]) -> Iterator[tuple[Path_, Path_]]:
    """(path of a figure that is there, path of the figure it is held to or ()) for a row."""
    other = row.over or row.below or row.not_above
    for base in row.each or ("",):
        for figure in row.figures:
            wanted = _joined(base, figure)
            for path in grouped.get(len(wanted), ()):
                if all(part in ("*", str(own)) for part, own in zip(wanted, path, strict=True)):
                    yield path, _bound(_joined(base, other), path) if other else ()


def _bound(other: Path_, path: Path_) -> Path_:
    """A path whose wildcards stand for the same parts as in another."""
    return tuple(path[place] if part == "*" and place < len(path) else part for place, part in enumerate(other))


def _joined(base: str, path: str) -> Path_:
    return tuple((base + path if path.startswith(".") else path).split("."))


def _hold(guard: Guard, row: Plausible, path: Path_, other: Path_) -> None:
    number = guard.numbers[path]
    if other:
        held = guard.beside(path, other)
        if (
            held is None
            or (row.over and held.value == 0)
            or (not row.signed and (held.value <= 0 or number.value <= 0))
        ):
            return
        beside = f"{told(path)} {number.text} beside {told(other).replace('_', ' ')} {held.text}"
        if row.below and number.value >= held.value - FUZZ:
            guard.refuse(guard.blamed(path, other), f"{beside}: {_lower(row.title)} must stay below it", row.because)
        elif row.not_above and number.value > held.value + FUZZ:
            guard.refuse(
                guard.blamed(path, other), f"{beside}: {_lower(row.title)} must not stand above it", row.because
            )
        elif row.over:
            new = path not in guard.questions
            _within(guard, row, path, number, number.value / held.value, beside, held.value)
            if new and path in guard.questions:
                guard.held[path] = other
        return
    value = number.value if not row.unit or number.typed is None else number.typed.to(row.unit)
    _within(guard, row, path, number, value, f"{told(path)} is {number.text}")


def _within(
    guard: Guard, row: Plausible, path: Path_, number: Number, value: float, said: str, held: float | None = None
) -> None:
    least, most = row.least if row.least is not None else 0.0, row.most if row.most is not None else float("inf")
    span = f"{_lower(row.title)} is usually {least:g} to {most:g} {row.unit}".rstrip()
    if held is not None and most < float("inf"):
        unit = guard.unit_of(path) if number.typed is not None else ""
        low, high = sorted((least * held, most * held))
        span += f", here {low:.4g} to {high:.4g} {unit}".rstrip()
    if (row.never_below is not None and value < row.never_below) or (
        row.never_above is not None and value > row.never_above
    ):
        guard.refuse(path, f"{said}: {span}, and never that", _hint(row, number, value, least, most))
    elif not least - abs(least) * 1e-6 <= value <= most + abs(most) * 1e-6:
        if held is None:
            guard.odd.add(path)
        guard.question(path, f"{said}: {span}", _hint(row, number, value, least, most))


def _hint(row: Plausible, number: Number, value: float, least: float, most: float) -> str:
    """The likely slips; the reason where there are none, and before them where one figure may not pass another."""
    slips = _slips(number, value, least, most)
    return f"{row.because.rstrip('.')}; {slips}" if slips and row.over and most == 1 else slips or row.because


def _slips(number: Number, value: float, least: float, most: float) -> str:
    """The slips that would bring the figure into its range, likeliest first; at most two."""
    found = []
    if value < 0 and least <= -value <= most:
        found.append("perhaps the sign is wrong")
    if number.typed is not None:
        own = number.typed.unit
        scale = UNITS[DIMENSION[own]]
        for unit in _COMMON.get(DIMENSION[own], ()):
            if unit != own and unit in scale and least <= value * scale[unit][0] / scale[own][0] <= most:
                found.append(f"perhaps {unit} was meant for {own}")
    found += [
        f"perhaps the decimal point stands {where}" for factor, where in _SHIFTS if least <= value * factor <= most
    ]
    if not found and number.typed is not None and DIMENSION[number.typed.unit] == "length":
        if least <= value * 2 <= most:
            found.append("perhaps it is a radius where a diameter is wanted")
        elif least <= value / 2 <= most:
            found.append("perhaps it is a diameter where a radius is wanted")
    return "; ".join(found[:2])


def _lower(text: str) -> str:
    return text[0].lower() + text[1:]


def settled(guard: Guard, sure: Mapping[str, str], what: str, also: Iterable[str] = ()) -> list[Doubt]:
    """The questions that `sure` does not settle. A name that is no figure of this file is refused, and so is one
    without a word why. `also`: further names that may be settled."""
    known = {told(path[: end + 1]) for path in guard.numbers for end in range(len(path))} | set(also)
    known |= {told(path) for path in guard.questions}
    for name, why in sure.items():
        if name not in known:
            guard.refuse(("sure", name), f"'{name}' is no figure of this {what}", nearest(name, known), at_key=True)
        elif not str(why).strip():
            guard.refuse(("sure", name), f"sure of '{name}', and no word why")
    return [
        item
        for path, item in guard.questions.items()
        if not any(told(path[: end + 1]) in sure for end in range(len(path)))
    ]
