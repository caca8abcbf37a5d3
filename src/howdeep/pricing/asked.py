"""Which figures a shop is asked for, in which order, and by which other names they stand in suppliers' lists."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..knowledge.validate import typed
from ..knowledge.where import shipped_rules
from ..model.asked import Asked, AskedFigure, AskedGroup
from ..model.knowledge import Knowledge
from ..model.operations import Machining, Part
from .stand_ins import NAMES

REST = "Every other work of the machine shop"
PARTS = "Every other part"


@functools.cache
def asked() -> Asked:
    """The file of questions and words. Raises HowdeepError with every fault."""
    document = read(shipped_rules() / "asked.yaml")
    faults: list[Fault] = []
    found: Asked | None = typed(document, (), document.value, Asked, faults)
    if found is None:
        raise HowdeepError(faults)
    return found


def groups(knowledge: Knowledge) -> tuple[AskedGroup, ...]:
    """All groups in order, each figure with its question: the first is what matters most; the last two hold what no
    other one does."""
    told = [
        AskedGroup(
            group.title,
            tuple(
                dataclasses.replace(figure, ask=figure.ask or _question(knowledge, figure.of)) for figure in group.ask
            ),
        )
        for group in asked().groups
    ]
    seen = {figure.of for group in told for figure in group.ask}
    for title, table, known in ((REST, "machine", knowledge.machining), (PARTS, "parts", knowledge.parts)):
        rest = [f"{table}.{name}" for name in known if f"{table}.{name}" not in seen]
        told.append(AskedGroup(title, tuple(AskedFigure(place, _question(knowledge, place)) for place in rest)))
    return tuple(told)


def title_of(knowledge: Knowledge, place: str) -> str:
    """What a figure is called: the title of the part or work, else the field in words."""
    table, _, name = place.partition(".")
    if table == "engine_parts":
        name = name.rpartition(".")[2]
    titles: dict[str, Mapping[str, Part] | Mapping[str, Machining]] = {
        "parts": knowledge.parts,
        "engine_parts": knowledge.parts,
        "machine": knowledge.machining,
    }
    entry = titles[table].get(name) if table in titles else None
    if entry is not None:
        return entry.title
    if name:
        return f"{NAMES.get(table, table)}: {name.replace('_', ' ')}"
    return table.replace("_", " ")


def question_of(knowledge: Knowledge, place: str) -> str:
    """How a figure is asked for: its question where a group has one, else its title."""
    told = {figure.of: figure.ask for group in asked().groups for figure in group.ask}
    return told.get(place) or _question(knowledge, place)


def _question(knowledge: Knowledge, place: str) -> str:
    title = title_of(knowledge, place)
    return f"Machine shop: {title[0].lower()}{title[1:]}" if place.startswith("machine.") else title
