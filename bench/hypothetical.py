"""Many hypothetical jobs at once, as columns: random answers that the rule base itself would accept.

A question that makes no sense on the engine is not answered, and one whose ground is gone is dropped, as in a real job.
Figures are drawn at, just below and just above every figure that a rule compares with, and between.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from howdeep.knowledge.condition_names import conditions_of, fact_shapes
from howdeep.knowledge.engine_facts import count_of, engine_facts
from howdeep.logic.applicability import applies
from howdeep.logic.columns import ABSENT, Column, conditions_in_columns
from howdeep.model.condition import FactTest, facts_read, walk
from howdeep.model.engine import Engine
from howdeep.model.knowledge import Knowledge
from howdeep.rulecheck.circles import circles

UNANSWERED = 0.25
"""Share of questions left open."""


class Questions:
    """What can be answered on one engine, and the figures worth trying."""

    def __init__(self, knowledge: Knowledge, engine: Engine):
        self.knowledge, self.engine, self.built = knowledge, engine, engine_facts(engine)
        self.limits = {name: item.value for name, item in knowledge.limits.items()}
        shapes = fact_shapes(knowledge)
        asked = [name for name, item in knowledge.observations.items() if applies(item, self.built)]
        taken = [
            name for name, item in knowledge.reduced.items() if not item.taken_from or set(item.taken_from) & set(asked)
        ]
        self.shapes = {name: shapes[name] for name in [*asked, *taken] if not shapes[name].grid}
        self.figures = self._figures()
        self.order = self._in_order(asked)

    def block(self, rows: int, random: np.random.Generator) -> tuple[dict[str, Column], dict[str, Column]]:
        """So many random jobs, fact -> column: as rules read them, and the answers as given."""
        columns = {name: self._column(name, rows, random) for name in self.shapes}
        for name, value in self.built.items():
            if isinstance(value, str):
                columns[name] = Column(np.zeros(rows, dtype=np.int16), (value,))
            else:
                columns[name] = Column(np.full(rows, float(value)))
        given = dict(columns)
        more = True
        while more:  # what is dropped may be what another ground, or an answer that follows, stood on
            told = self._with_implied(columns)
            more = sum(self._drop(name, told, rows, columns) for name in self.order if name in columns) > 0
        return self._with_implied(columns), given

    def _with_implied(self, columns: dict[str, Column]) -> dict[str, Column]:
        """The answers with those that follow from them."""
        told = dict(columns)
        for name, item in self.knowledge.observations.items():
            if name in columns:
                for answer, others in item.implies.items():
                    self._imply(told, columns[name], answer, others)
        return told

    def _imply(self, columns: dict[str, Column], asked: Column, answer: str, others: Mapping[str, str]) -> None:
        """What one answer answers as well, where that has no answer of its own."""
        here = asked.values == asked.words.index(answer)
        for other, word in others.items():
            if other in columns:
                column = columns[other]
                values = column.values.copy()
                values[here & (values < 0)] = column.words.index(word)
                columns[other] = Column(values, column.words)

    def _column(self, name: str, rows: int, random: np.random.Generator) -> Column:
        shape = self.shapes[name]
        size: tuple[int, ...] = (rows, count_of(self.engine, shape.each)) if shape.each else (rows,)
        open_ = random.random(size[:1]) < UNANSWERED
        if shape.words:
            values = random.integers(0, len(shape.words), size).astype(np.int16)
            values[open_] = -1
        else:
            values = random.choice(self.figures[name], size)
            values[open_] = np.nan
        return Column(values, shape.words)

    def _drop(self, name: str, told: dict[str, Column], rows: int, columns: dict[str, Column]) -> bool:
        """Drop the answers whose ground is gone; whether there was one."""
        ground = self.knowledge.observations[name].follows
        gone = conditions_in_columns({"ground": ground}, self.limits, told, rows)["ground"] == ABSENT
        values = columns[name].values
        answered = values >= 0 if columns[name].words else ~np.isnan(values)
        any_gone = bool(answered[gone].any())
        kept = values.copy()
        kept[gone] = -1 if columns[name].words else np.nan
        columns[name] = Column(kept, columns[name].words)
        return any_gone

    def _figures(self) -> dict[str, np.ndarray]:
        cuts: dict[str, set[float]] = {name: set() for name, shape in self.shapes.items() if not shape.words}
        for kind in ("observations", "history", "findings", "operations", "contradictions", "holds"):
            for entry in getattr(self.knowledge, kind).values():
                for _, _, condition in conditions_of(entry):
                    for test in walk(condition):
                        if isinstance(test, FactTest) and test.fact in cuts:
                            cuts[test.fact].update(
                                self.limits[bound] if isinstance(bound, str) else bound for _, bound in test.bounds
                            )
        result = {}
        for name, found in cuts.items():
            item = self.knowledge.observations.get(name)
            low, high = item.range if item and item.range else (min(found, default=0) - 1, max(found, default=1) + 1)
            near = {cut + step * max(abs(cut), 1) for cut in found for step in (-0.001, 0, 0.001)}
            figures = {low, high, (low + high) / 2, *near}
            result[name] = np.array(sorted(figure for figure in figures if low <= figure <= high))
        return result

    def _in_order(self, asked: list[str]) -> list[str]:
        """Questions with a ground, each after the questions its ground reads."""
        grounds = {
            name: tuple(sorted(facts_read(item.follows) & set(asked)))
            for name in asked
            if (item := self.knowledge.observations[name]).follows is not None
        }
        assert not circles(grounds), "questions wait for each other"
        done: list[str] = []
        while len(done) < len(grounds):
            done += [
                name
                for name in grounds
                if name not in done and all(other in done or other not in grounds for other in grounds[name])
            ]
        return done


def row_of(columns: Mapping[str, Column], row: int) -> dict[str, Any]:
    """One hypothetical job as facts."""
    facts: dict[str, Any] = {}
    for name, column in columns.items():
        values = column.values[row]
        if column.values.ndim == 1:
            value = _one(values, column.words)
        else:
            value = tuple(_one(item, column.words) for item in values)
            value = None if all(item is None for item in value) else value
        if value is not None:
            facts[name] = value
    return facts


def _one(value: Any, words: tuple[str, ...]) -> Any:
    if words:
        return words[value] if value >= 0 else None
    return None if np.isnan(value) else float(value)


def blocks(total: int, size: int) -> Iterator[int]:
    """Sizes of blocks that make up the total."""
    while total > 0:
        yield min(size, total)
        total -= size
