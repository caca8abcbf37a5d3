"""Which ids the program itself uses: text constants in its source, and texts put together around a word."""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Iterable
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]
_LEAST_LETTERS = 5


@functools.cache
def named_in_code(without: tuple[str, ...] = ("rulecheck", "rulebook")) -> Names:
    """Every name in the program outside some of its packages."""
    constants: set[str] = set()
    patterns: set[str] = set()
    for path in sorted(_PACKAGE.rglob("*.py")):
        if path.relative_to(_PACKAGE).parts[0] in without:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and len(node.value) < 80:
                constants.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                patterns.update(_pattern(node))
    return Names(frozenset(constants), re.compile("|".join(sorted(patterns)) or r"(?!)"))


class Names:
    """What `in` answers: whether a name stands in the program, whole or as f"leakage_{word}_percent"."""

    def __init__(self, constants: frozenset[str], patterns: re.Pattern[str]):
        self._constants, self._patterns = constants, patterns

    def __contains__(self, name: str) -> bool:
        return name in self._constants or bool(self._patterns.fullmatch(name))


def _pattern(node: ast.JoinedStr) -> Iterable[str]:
    """A regular expression for an id put together around a word; none for prose, or for hardly more than the word."""
    fixed = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
    if len(re.findall("[a-z]", fixed)) >= _LEAST_LETTERS and re.fullmatch("[a-z0-9_.]+", fixed):
        yield "".join(
            re.escape(str(part.value)) if isinstance(part, ast.Constant) else "[a-z0-9_]+" for part in node.values
        )
