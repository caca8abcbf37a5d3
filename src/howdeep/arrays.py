"""Names for arrays of one sort of number, so that a signature says which; their shapes stand in its docstring."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    import numpy as np

Floats: TypeAlias = "np.ndarray[tuple[Any, ...], np.dtype[np.float64]]"
"""Chances, odds, sums, money."""
Bools: TypeAlias = "np.ndarray[tuple[Any, ...], np.dtype[np.bool_]]"
"""Masks."""
Ints: TypeAlias = "np.ndarray[tuple[Any, ...], np.dtype[np.integer[Any]]]"
"""Places, levels, degrees, counts."""
Truths: TypeAlias = "np.ndarray[tuple[Any, ...], np.dtype[np.int8]]"
"""Truths: 1 present, 0 unknown, -1 absent."""
