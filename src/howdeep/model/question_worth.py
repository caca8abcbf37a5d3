"""What a question at the counter is worth, and what each of its answers would do."""

from __future__ import annotations

from typing import Protocol

from .frozen import dataclass

LEAST_MOVED = 0.01
"""A chance that moves less is not told."""


class Numbers(Protocol):
    """A row of figures: a list, a tuple or an array of one axis."""

    def __len__(self) -> int: ...
    def __getitem__(self, place: int, /) -> float: ...


@dataclass(frozen=True, slots=True, eq=False)
class AnswerMoves:
    """What one answer would do."""

    answer: str
    title: str
    chance: float
    moved: float
    """Half the sum over the causes of how far their chance of a hand would move."""
    bill: float
    """How far the expected cost of the cures would move, with its sign."""
    danger: bool
    """Whether it forbids running."""
    nearer: float
    """Which share of the way to a promise it goes, from a quarter to 1; 0 where it goes less."""
    causes: tuple[str, ...]
    before: Numbers
    """[causes] chance of a hand before it."""
    change: Numbers
    """[causes] how far each would move."""

    @property
    def up(self) -> tuple[tuple[str, float, float], ...]:
        """(cause, hand before, hand after) of the two that would rise most."""
        return self._most(1)

    @property
    def down(self) -> tuple[tuple[str, float, float], ...]:
        """The same of the two that would fall most."""
        return self._most(-1)

    def _most(self, sign: int) -> tuple[tuple[str, float, float], ...]:
        places = sorted(range(len(self.change)), key=lambda place: -sign * self.change[place])[:2]
        return tuple(
            (self.causes[place], float(self.before[place]), float(self.before[place] + self.change[place]))
            for place in places
            if sign * self.change[place] >= LEAST_MOVED
        )


@dataclass(frozen=True, slots=True)
class QuestionWorth:
    """What a question is worth, with what each answer would do."""

    observation: str
    worth: float
    """In minutes of labour; without prices the bill counts for nothing."""
    moved: float
    """Expected movement of who has a hand in it."""
    alike: bool
    """Whether the chances of its answers are taken as equal, for it is history."""
    answers: tuple[AnswerMoves, ...]
    promised: float = 0.0
    """The part of its worth that stands for bringing the answer nearer to a promise."""

    @property
    def carries(self) -> float:
        """Share of the way to a promise that it is expected to go."""
        return sum(item.chance * item.nearer for item in self.answers)
