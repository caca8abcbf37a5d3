"""Checks against published figures, each tied to an entry of the register of sources so that they can be counted.

    @published("tm-10-3930-653-14p", "p. 76")
    def test_the_ring_gap_limit_is_judged_as_printed(): ...

    @pytest.mark.parametrize("altitude, pressure", [
        cited("us-std-atm-1976", "table", 0, 14.696),
    ])

`published` counts one check for a test, `cited` one for each row. A source that is not in the register, or a check
without a place in it, fails when the module is imported. A figure of common practice or from memory does not belong
here: it carries a comment that says so. `python -m tests.published` counts all of them.
"""

from __future__ import annotations

import importlib
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from howdeep.files.strict_yaml import read

ROOT = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, slots=True)
class PublishedCheck:
    """One check against a published figure."""

    source: str
    """Id in the register of sources."""
    where: str
    """Page, paragraph, table or step."""
    test: str
    """Module and test, or module and row."""


CHECKS: list[PublishedCheck] = []
"""Every check of the modules imported so far, in order of definition."""


@cache
def register() -> frozenset[str]:
    """Ids of every registered source: rules/sources.yaml and rules/sources/*.yaml."""
    files = [ROOT / "rules" / "sources.yaml", *sorted((ROOT / "rules" / "sources").glob("*.yaml"))]
    return frozenset(name for path in files if path.exists() for name in (read(path).value or {}))


def _note(source: str, where: str, test: str) -> None:
    assert source in register(), f"{test}: '{source}' is not in the register of sources"
    assert where.strip(), f"{test}: where in '{source}'?"
    CHECKS.append(PublishedCheck(source, where, test))


def published(source: str, where: str) -> Callable[[Callable], Callable]:
    """Mark a test as a check against `where` in `source`. Raises AssertionError for an unregistered source."""

    def mark(test: Callable) -> Callable:
        _note(source, where, f"{test.__module__}.{test.__qualname__}")
        return test

    return mark


def cited(source: str, where: str, *values, id: str | None = None):  # noqa: A002 - as pytest names it
    """One row of a parametrised test, counted as a check of its own."""
    module = sys._getframe(1).f_globals.get("__name__", "")
    _note(source, where, f"{module}:{source} {where} {values[:2]}")
    place = sum(
        check.test.startswith(f"{module}:") for check in CHECKS
    )  # in its file, in whatever order files are loaded
    return pytest.param(*values, id=id or f"{source} {where} {place}")


def count_all() -> Counter[str]:
    """Number of checks by test module, over every test module that cites anything."""
    for path in sorted((ROOT / "tests").glob("test_*.py")):
        if "published import" in path.read_text(encoding="utf-8"):
            importlib.import_module(f"tests.{path.stem}")
    from tests import published as module  # noqa: PLW0406 - the one that the tests import, also where this file runs as a program

    return Counter(check.test.split(":")[0].removeprefix("tests.").split(".")[0] for check in module.CHECKS)


if __name__ == "__main__":
    counts = count_all()
    for name, number in sorted(counts.items()):
        print(f"{number:5d}  {name}")
    print(f"{sum(counts.values()):5d}  published checks")
