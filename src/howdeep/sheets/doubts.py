"""What is said against a figure that was typed, in the names of the card."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..model.sheet_form import SheetForm
from .draft import Doubt


def said_against(form: SheetForm, doubt: Doubt) -> Iterator[str]:
    """One sentence for each thing that is said, not for each end of a fit."""
    told: set[str] = set()
    for fault in (*doubt.refused, *doubt.questioned):
        text = fault.message
        for group in form.groups.values():
            for path, item in group.fields.items():
                name = rf"\b{re.escape(path).replace('_', '[ _]')}\b(?!_)"
                text = re.sub(rf"{name}\.(low|high|wear|value|least)\b", rf"{item.label.lower()} (\1)", text)
                text = re.sub(name, item.label.lower(), text)
        about = re.sub(r"\d[\d./ ]*|\((?:low|high|wear)\)", "", text)
        if about not in told:
            told.add(about)
            yield f"{text[:1].upper()}{text[1:]}."


def figures_questioned(doubt: Doubt) -> Iterator[str]:
    """The figures that the questions are about, as `sure` names them."""
    for fault in doubt.questioned:
        found = re.search(r"sure: \{(.+): why\}", fault.hint)
        if found:
            yield found.group(1)
