"""Conditions as they stand in YAML, turned into values of model.condition."""

from __future__ import annotations

from typing import Any

from ..errors import nearest
from ..model.condition import COMPARISONS, AllOf, AnyOf, Condition, FactTest, FindingTest, Not

_TEST_KEYS = ("fact", "is", *COMPARISONS, "cylinders")
_FORMS = ("all", "any", "not", "fact", "finding")

Complaint = tuple[tuple[str | int, ...], str, str]
"""Path inside the condition, message, hint."""


def parse(plain: Any, path: tuple[str | int, ...], complaints: list[Complaint]) -> Condition | None:
    """The condition written in `plain`; what is wrong is added to `complaints` and None returned."""
    if not isinstance(plain, dict) or not plain:
        complaints.append((path, f"a condition is a mapping with one of {', '.join(_FORMS)}, not '{plain}'", ""))
        return None
    forms = [form for form in _FORMS if form in plain]
    if len(forms) != 1:
        odd = next((key for key in plain if key not in _FORMS), next(iter(plain)))
        complaints.append(
            (
                path,
                f"a condition has exactly one of {', '.join(_FORMS)}; this has "
                f"'{', '.join(str(key) for key in plain)}'",
                nearest(odd, _FORMS),
            )
        )
        return None
    form = forms[0]
    allowed = _TEST_KEYS if form == "fact" else (form,)
    before = len(complaints)
    for key in plain:
        if key not in allowed:
            complaints.append(
                ((*path, key), f"the key '{key}' does not belong beside '{form}'", nearest(str(key), allowed))
            )
    if form == "not":
        part = parse(plain["not"], (*path, "not"), complaints)
        return Not(part) if part is not None else None
    if form in ("all", "any"):
        items = plain[form]
        if not isinstance(items, list) or not items:
            complaints.append(((*path, form), f"'{form}' takes a list of conditions, not '{items}'", ""))
            return None
        parts = [parse(item, (*path, form, index), complaints) for index, item in enumerate(items)]
        if any(part is None for part in parts):
            return None
        return (AllOf if form == "all" else AnyOf)(tuple(part for part in parts if part is not None))
    if form == "finding":
        if not isinstance(plain["finding"], str):
            complaints.append(((*path, "finding"), f"'{plain['finding']}' is not the id of a finding", ""))
            return None
        return FindingTest(plain["finding"]) if len(complaints) == before else None
    test = _fact_test(plain, path, complaints)
    return test if len(complaints) == before else None


def _fact_test(plain: dict[str, Any], path: tuple[str | int, ...], complaints: list[Complaint]) -> FactTest | None:
    if not isinstance(plain["fact"], str):
        complaints.append(((*path, "fact"), f"'{plain['fact']}' is not the name of a fact", ""))
        return None
    words: tuple[str, ...] = ()
    if "is" in plain:
        given = plain["is"] if isinstance(plain["is"], list) else [plain["is"]]
        words = tuple(str(word) if isinstance(word, int) and not isinstance(word, bool) else word for word in given)
        for word in words:
            if not isinstance(word, str):
                complaints.append(
                    (
                        (*path, "is"),
                        f"'{word}' is not a word that an answer can be",
                        "write yes or no, not true or false",
                    )
                )
    bounds = []
    for key in COMPARISONS:
        if key in plain:
            value = plain[key]
            if isinstance(value, bool) or not isinstance(value, (int, float, str)):
                complaints.append(((*path, key), f"'{value}' is neither a number nor the id of a limit", ""))
                continue
            bounds.append((key, float(value) if not isinstance(value, str) else value))
    if bool(words) == bool(bounds):
        complaints.append(
            (path, f"the test of '{plain['fact']}' needs either 'is' or a comparison ({', '.join(COMPARISONS)})", "")
        )
    cylinders = plain.get("cylinders", "")
    if cylinders not in ("", "any", "every", "neighbours") and not (
        isinstance(cylinders, int) and not isinstance(cylinders, bool) and cylinders >= 1
    ):
        complaints.append(
            (
                (*path, "cylinders"),
                f"'{cylinders}' is none of any, every, neighbours or a whole number (at least so many)",
                "",
            )
        )
    return FactTest(plain["fact"], words, tuple(bounds), cylinders)
