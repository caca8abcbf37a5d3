"""What is checked: the rule base with the engine sheets, what the cases showed, and where everything is written."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import Document, Path_, read
from ..knowledge.condition_names import conditions_of
from ..knowledge.engine_facts import engine_facts
from ..knowledge.engines import find, load_sheet, sheet_ids
from ..knowledge.load import KINDS
from ..logic.applicability import applies, rung_on
from ..model.condition import Condition, findings_read
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import Rung
from ..model.truth import Truth
from .kinds import kind_faults
from .worlds import PRESENT, TooWide, Vocabulary


@dataclass(frozen=True, slots=True)
class CaseRun:
    """What the rules concluded of one worked case."""

    name: str
    engine: str
    facts: Mapping[str, Any]
    findings: Mapping[str, Truth]
    covered: Mapping[str, float] = field(default_factory=dict)
    """Check -> share of the probability that its listed outcomes cover."""
    given: Mapping[str, Any] = field(default_factory=dict)
    """The answers as given, which contradictions read; where empty, `facts`."""


@dataclass(frozen=True, eq=False)
class Subject:
    """Everything a check may look at."""

    knowledge: Knowledge
    engines: Mapping[str, Engine] = field(default_factory=dict)
    """Engine sheets by id."""
    cases: tuple[CaseRun, ...] | None = None
    """None where the cases were not run: checks that need them are then silent."""
    sheet_faults: tuple[Fault, ...] = ()
    """Engine sheets that could not be read."""
    sheet_questions: tuple[Fault, ...] = ()
    """What is questioned in those that could."""
    shipped: Knowledge | None = None
    """The rules that a shop's own folder is laid over; None where there is no such folder."""

    @functools.cached_property
    def vocabulary(self) -> Vocabulary:
        return Vocabulary(self.knowledge)

    @functools.cached_property
    def engine_facts(self) -> dict[str, dict[str, Any]]:
        """Engine sheet -> its engine.* facts."""
        return {name: engine_facts(engine) for name, engine in sorted(self.engines.items())}

    def entries(self) -> Iterable[tuple[str, str, Any]]:
        """(kind, id, entry) of the whole rule base, in order."""
        for kind in KINDS:
            for name, entry in getattr(self.knowledge, kind).items():
                yield kind, name, entry

    def engines_with(self, entry: Any) -> list[str]:
        """Engine sheets to which an entry applies."""
        return [name for name, facts in self.engine_facts.items() if applies(entry, facts)]

    def rung_of(self, operation: str, engine: str) -> Rung | None:
        """The rung at which an operation is done on an engine; None where it cannot be done."""
        item, facts = self.knowledge.operations[operation], self.engine_facts[engine]
        return rung_on(item.rung, facts) if applies(item, facts) else None

    def can_be_present(self, finding: str, engine: str) -> bool:
        """Whether some answers make a finding present on an engine; true where that is too wide to be decided."""
        key = (finding, engine)
        if key not in self._possible:
            when = self.knowledge.findings[finding].when
            try:
                space = self.vocabulary.space(when, engine=self.engine_facts[engine])
                self._possible[key] = space.any(space.truth(when) == PRESENT)
            except TooWide:
                self._possible[key] = True
        return self._possible[key]

    @functools.cached_property
    def _possible(self) -> dict[tuple[str, str], bool]:
        return {}

    @functools.cached_property
    def telling(self) -> dict[str, dict[str, str]]:
        """Cause -> finding -> word, for every link that says more than never."""
        result: dict[str, dict[str, str]] = {name: {} for name in self.knowledge.causes}
        for name, finding in self.knowledge.findings.items():
            for cause, word in finding.explained_by.items():
                if word != "never":
                    result[cause][name] = word
        return result

    @functools.cached_property
    def lines_of(self) -> dict[str, frozenset[str]]:
        """Finding -> the lines of evidence it stands in."""
        result: dict[str, set[str]] = {}
        for name, line in self.knowledge.lines.items():
            for finding in line.findings:
                result.setdefault(finding, set()).add(name)
        return {name: frozenset(lines) for name, lines in result.items()}

    @functools.cached_property
    def conditions(self) -> tuple[tuple[str, str, Path_, Condition, Any], ...]:
        """(kind/id, field, path, condition, entry) of every condition in the rule base."""
        return tuple(
            (f"{kind}/{name}", str(path[0]), path, condition, entry)
            for kind, name, entry in self.entries()
            for _, path, condition in conditions_of(entry)
        )

    @functools.cached_property
    def findings_used(self) -> frozenset[str]:
        """Findings that some condition reads."""
        return frozenset(name for _, _, _, condition, _ in self.conditions for name in findings_read(condition))

    @functools.cached_property
    def _documents(self) -> dict[str, Document | None]:
        return {}

    def place(self, key: str, path: tuple[str | int, ...]) -> tuple[str, int, int]:
        """File, line and column of a place inside an entry, as closely as the file can tell."""
        if key not in self.knowledge.places:
            return "", 0, 0
        file, line, column = self.knowledge.places[key]
        if not path:
            return file, line, column
        if file not in self._documents:
            try:
                self._documents[file] = read(file)
            except HowdeepError:
                self._documents[file] = None
        document = self._documents[file]
        if document is None:
            return file, line, column
        head = key.split("/", 1)[1:]  # the settings are no entry of a kind
        fault, named = (document.fault((*head, *path), "", at_key=at_key) for at_key in (False, True))
        if named.line < fault.line:  # the name of a field stands on the line before a value that is a block
            fault = named
        return fault.file, fault.line, fault.column


def read_sheets(folders: Sequence[Path]) -> tuple[dict[str, Engine], tuple[Fault, ...], tuple[Fault, ...]]:
    """Every engine sheet of the rule folders, the faults of those that cannot be read, and what is questioned; the
    faults and questions are those of kinds of engine as well."""
    engines: dict[str, Engine] = {}
    faults: list[Fault] = []
    questions: list[Fault] = []
    for name in sheet_ids(folders):
        try:
            sheet = load_sheet(find(name, folders), folders)
            engines[name] = sheet.engine
            questions.extend(sheet.questions)
        except HowdeepError as error:
            faults.extend(error.faults)
    of_kinds, asked_of_kinds = kind_faults(folders)
    return engines, (*faults, *of_kinds), (*questions, *asked_of_kinds)
