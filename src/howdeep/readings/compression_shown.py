"""Compression as every surface shows it: dry and wet of each cylinder, and what is expected there."""

from __future__ import annotations

from ..model.frozen import dataclass
from ..model.values import Values, numbers_of

DRY, WET = "compression_dry", "compression_wet"
EXPECTED = ("compression.expected_low", "compression.expected_high")
WET_ANSWER = "compression.wet_answer"


@dataclass(frozen=True, slots=True)
class CompressionShown:
    """Readings in psi, one a cylinder, None where not taken."""

    dry: tuple[float | None, ...]
    wet: tuple[float | None, ...]
    """As many as dry; all None where no wet test was made."""
    expected: tuple[float, ...]
    """None, one or two figures."""


def compression_shown(values: Values) -> CompressionShown | None:
    """What is shown of the facts of a job; None where no compression was taken."""
    dry = numbers_of(values.get(DRY))
    if all(value is None for value in dry):
        return None
    ends = (values.get(name) for name in EXPECTED)
    return CompressionShown(
        dry, numbers_of(values.get(WET)) or (None,) * len(dry), tuple(end for end in ends if isinstance(end, float))
    )
