"""Mistakes that a mechanic would make in a folder of his own rules: how many are named at their file and line.

    python -m bench.overlay_mistakes [--all]

Each of overlay_mistakes.yaml is written as a folder, laid over the shipped rules and checked as `howdeep rules check`
checks it. It is named where a fault, an error or a warning stands in the folder at the field of the mistake (what is
missing: at the entry's own line). The
shipped entries laid over themselves without any slip must give none.
"""

from __future__ import annotations

import copy
import functools
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import Document, parse, read
from howdeep.knowledge.cache import load_cached
from howdeep.knowledge.load import load
from howdeep.knowledge.where import shipped_rules
from howdeep.rulecheck.run import BY_CODE, run
from howdeep.rulecheck.subject import Subject, read_sheets

SLOW = ("lowers-its-cause", "nothing-proves-it", "look-alikes", "forgotten-answer", "counted-twice")
"""Checks of seconds each, which are left out: what the others name is counted."""
HERE = Path(__file__).with_name("overlay_mistakes.yaml")


@dataclass(frozen=True)
class Mistake:
    """One mistake as files of a folder, and where it stands."""

    slip: str
    files: dict[str, str]
    """Name without its ending -> text."""
    file: str
    line: int
    last: int
    """Last line of the field it stands in."""

    def is_at(self, file: str, line: int) -> bool:
        """Whether a place is that of the mistake."""
        return file == self.file and self.line <= line <= self.last


def mistakes() -> Iterator[Mistake]:
    """Every mistake of the list."""
    for item in read(HERE).value:
        if "files" in item:
            name = next(name for name, text in item["files"].items() if "# HERE" in text)
            lines = item["files"][name].splitlines()
            line = 1 + next(number for number, text in enumerate(lines) if "# HERE" in text)
            yield Mistake(item["slip"], item["files"], name, line, line)
        else:
            yield _made(item)


def _made(item: dict[str, Any]) -> Mistake:
    kind, _, name = item["entry"].partition("/")
    plain = shipped_entry(item["entry"])
    for path, value in item.get("set", {}).items():
        here = plain
        *before, last = path.split(".")
        for part in before:
            here = here[part]
        here[last] = copy.deepcopy(value)
    for field in item.get("drop", ()):
        del plain[field]
    text = as_text({name: plain} if name else plain)
    path = tuple(part for part in (name, *item["at"].split(".")) if part)
    made = parse(text, kind)
    line = made.fault(path, "", at_key=True).line
    last = max((place[0] for at, place in made.places.items() if at[: len(path)] == path), default=line)
    return Mistake(item["slip"], {kind: text}, kind, line, last if item["at"] else line)


def shipped_entry(key: str) -> dict[str, Any]:
    """A shipped entry as it stands in its file."""
    kind, _, name = key.partition("/")
    if not name:
        return copy.deepcopy(read(shipped_rules() / f"{kind}.yaml").value)
    knowledge = load_cached((shipped_rules(),))
    return copy.deepcopy(_document(knowledge.places[key][0]).value[name])


_documents: dict[str, Document] = {}


def _document(file: str) -> Document:
    return _documents.setdefault(file, read(file))


def as_text(plain: dict[str, Any]) -> str:
    """An entry in block style, as a person writes it."""
    return yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, width=100)


def named(mistake_files: dict[str, str], codes: Sequence[str] = ()) -> list[tuple[str, int, str]]:
    """(file inside the folder, line, what) of everything that the checks - all but the slow ones, or those with the
    codes given - say of the folder's own files."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for name, text in mistake_files.items():
            path = folder / f"{name}.yaml"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        folders = (shipped_rules(), folder)
        try:
            knowledge = load(folders)
        except HowdeepError as error:
            found = [(fault.file, fault.line, fault.message) for fault in error.faults]
        else:
            report = run(subject_of(knowledge), codes or [code for code in BY_CODE if code not in SLOW])
            found = [
                (item.file, item.line, f"{item.code}: {item.message}")
                for item in report.anomalies
                if item.severity != "note" and not item.excused
            ]
        own = [(Path(file), line, told) for file, line, told in found if Path(file).is_relative_to(folder)]
        return [(str(file.relative_to(folder).with_suffix("")), line, told) for file, line, told in own]


@functools.cache
def _sheets():
    return read_sheets((shipped_rules(),))


def subject_of(knowledge) -> Subject:
    """What `howdeep rules check --without-cases` looks at."""
    return Subject(knowledge, *_read(), load_cached((shipped_rules(),)))


def _read():
    engines, faults, questions = _sheets()
    return engines, None, faults, questions


def main() -> None:
    seen = 0
    every = list(mistakes())
    for item in every:
        found = named(item.files)
        hit = [told for file, line, told in found if item.is_at(file, line)]
        seen += bool(hit)
        if not hit or "--all" in sys.argv:
            print(f"{'named' if hit else 'UNSEEN'}: {item.slip} ({item.file}:{item.line})")
            for file, line, told in found:
                print(f"    {file}:{line}: {told[:150]}")
    print(f"{seen} of {len(every)} named at their place")


if __name__ == "__main__":
    main()
