"""Odd files and odd forms: what must hold for every one of them.

    python -m bench.fuzz --minutes 6 [--seed 1]     # as many as go into the time
    python -m bench.fuzz --count 10000 [--seed 1] --only files   # so many bad files, and the counts

A sound file (a worked case, an engine sheet, a price list, a rule file laid over the shipped ones) is spoiled once to a
few times: bytes, lines, values, units, nesting, names. Forms of the page are posted with odd values through the test
client. For each: no exception but a HowdeepError, which every command says in lines and ends with a documented exit
code; no more than SECONDS of processor time; no answer of the page of 500 and more; and what loads gives the same
values, and for a job the same answer, as its clean reading: parsed, written plainly, read again.
"""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
import html
import io
import random
import re
import shutil
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from howdeep.assessment.assess import answer_in_short
from howdeep.assessment.facts import facts_of
from howdeep.assessment.session import Shop, open_shop
from howdeep.cli.exit_codes import run
from howdeep.cli.main import app as program
from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.files.strict_yaml import read
from howdeep.knowledge.engines import find, load_sheet, sheet_ids
from howdeep.knowledge.load import load
from howdeep.knowledge.where import shipped_cases, shipped_rules
from howdeep.logic.evaluate import evaluate_all
from howdeep.pricing.read import example_prices, load_prices

SECONDS = 5.0
CODES = frozenset({0, 1, 2, 3, 4, 130})
"""Exit codes as documented, without that of a defect of the program."""
EVERY = 10
"""Of the files that load, each so many-th is answered and shown through the program itself."""
FILES = "files"
"""Jobs, price lists and sheets alone, answered and shown ten times as seldom: for counting many."""
WEIGHTS = {"job": 40, "prices": 25, "sheet": 25, "form": 9, "rules": 1}
ODD = (
    "",
    "-1",
    "0",
    "1e999",
    "-0.0",
    "nan",
    "inf",
    "1e-320",
    "null",
    "~",
    "true",
    "[]",
    "{}",
    "[1, [2, [3]]]",
    "9" * 400,
    "!!python/object:os.system x",
    "&a [*a, *a]",
    "*a",
    "<<: x",
    "'",
    '"',
    "\x00",
    "\u202e",
    "\ufeff",
    "é" * 300,
    "0x1F",
    "010",
    "12:30",
    "1_000",
    "48,5 psi",
    "48 psi psi",
    "3/8 in",
    "no",
    "yes",
    "unknown",
    "later",
    "- - -",
    "{a: {b: {c: d}}}",
    "2026-13-45",
    "../../etc/passwd",
    "<script>alert(1)</script>",
    "%s%n",
    "${x}",
    "|",
    ">-",
    "48 furlong",
    "1e5 mm",
    "-40 degC",
    "ferrier-3",
    "? x",
    ": :",
    "#",
    "\t\t",
    "...",
    "---",
    "\u2028",
)


@dataclass
class Count:
    """What came of it."""

    tried: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    loaded: Counter[str] = field(default_factory=Counter)
    posted: Counter[int] = field(default_factory=Counter)
    """Status of the page's answer to a form -> how often."""
    answered: int = 0
    longest: float = 0.0
    faults: list[str] = field(default_factory=list)
    """What does not hold, with what was tried."""


def spoiled(text: str, chance: random.Random) -> str:
    """A text spoiled in one way; most ways keep it nearly a file of its kind."""
    lines = text.split("\n")
    place = chance.randrange(len(lines))
    kind = chance.choice((*range(14), 7, 8, 14, 14, 15, 15, 16, 16))
    if kind == 0:
        del lines[place]
    elif kind == 1:
        lines.insert(place, lines[chance.randrange(len(lines))])
    elif kind == 2:
        lines[place] = " " * chance.randrange(1, 9) + lines[place]
    elif kind == 3:
        lines[place] = lines[place].lstrip()
    elif kind in (4, 5, 6):
        key, sign, _ = lines[place].partition(":")
        lines[place] = f"{key}{sign} {chance.choice(ODD)}"
    elif kind == 7:
        lines[place] = re.sub(
            r"\d+(?:\.\d+)?",
            lambda found: chance.choice(
                (found[0] + "0", "-" + found[0], found[0].replace(".", ","), found[0][:-1] or "0", "1e9")
            ),
            lines[place],
            count=1,
        )
    elif kind == 8:
        lines[place] = re.sub(
            r"\b(psi|in|mm|ft-lb|rpm|V|percent|h|min)\b",
            lambda _: chance.choice(("bar", "mm", "in", "Nm", "ft", "kPa", "")),
            lines[place],
        )
    elif kind == 9:
        words = re.findall(r"[a-z_]{4,}", lines[place])
        if words:
            word = chance.choice(words)
            at = chance.randrange(len(word))
            lines[place] = lines[place].replace(word, word[:at] + chance.choice("abcxyz_") + word[at + 1 :], 1)
    elif kind == 10:
        return text[: chance.randrange(len(text) + 1)]
    elif kind == 11:
        at = chance.randrange(len(text) + 1)
        return text[:at] + chance.choice(ODD) + text[at:]
    elif kind == 14:  # neighbours exchanged, which in a mapping mean the same
        other = min(place + 1, len(lines) - 1)
        if len(lines[place]) - len(lines[place].lstrip()) == len(lines[other]) - len(lines[other].lstrip()):
            lines[place], lines[other] = lines[other], lines[place]
    elif kind == 15:  # written otherwise: quoted, with a comment, with blanks, with the line ends of another system
        key, sign, value = lines[place].partition(": ")
        if sign and value and value[0].isalnum():
            lines[place] = chance.choice(
                (
                    f'{key}: "{value}"',
                    f"{key}:   {value}  # seen",
                    f"{key}: '{value}'",
                    f"{key}: {value}\r",
                    f"{key}: {value}\t",
                )
            )
    elif kind == 16:  # another figure in the same words
        lines[place] = re.sub(
            r"\d+(?:\.\d+)?", lambda found: f"{float(found[0]) * chance.uniform(0.5, 2):.4g}", lines[place], count=1
        )
    elif kind == 12:
        lines[place] += "\n" + "[" * chance.randrange(1, 60)
    else:
        other = chance.randrange(len(lines))
        lines[place], lines[other] = lines[other], lines[place]
    return "\n".join(lines)


def bad_bytes(text: str, chance: random.Random) -> bytes:
    """A text spoiled one to three times, now and then in its bytes as well."""
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        text = spoiled(text, chance) or "x"
    raw = bytearray(text.encode("utf-8", "surrogatepass"))
    if raw and chance.random() < 0.1:
        raw[chance.randrange(len(raw))] = chance.randrange(256)
    return bytes(raw)


class Fuzz:
    """One run, with everything it needs read once."""

    def __init__(self, seed: int, folder: Path):
        self.chance, self.folder, self.count = random.Random(seed), folder, Count()
        self.shop: Shop = open_shop(example_prices=True)
        self.cases = [path.read_text(encoding="utf-8") for path in sorted(shipped_cases().glob("*.yaml"))]
        rules = shipped_rules()
        self.sheets = [find(name, [rules]).read_text(encoding="utf-8") for name in sheet_ids([rules])]
        self.prices = example_prices().read_text(encoding="utf-8")
        self.rules = [
            (path.relative_to(rules), path.read_text(encoding="utf-8"))
            for path in sorted(rules.rglob("*.yaml"))
            if path.relative_to(rules).parts[0] not in ("engines", "kinds", "prices", "plausible")
        ]
        self._page = None
        self.every = EVERY

    def one(self, kind: str) -> None:
        """Spoil one file or form, and see that all holds."""
        self.count.tried[kind] += 1
        begun = time.process_time()
        try:
            getattr(self, f"_{kind}")()
        except HowdeepError:
            self.count.refused[kind] += 1
        except Exception as error:  # whatever it is, it is what is looked for
            self._fault(kind, f"{type(error).__name__}: {error}\n{traceback.format_exc()[-1500:]}")
        took = time.process_time() - begun
        self.count.longest = max(self.count.longest, took)
        if took > SECONDS:
            self._fault(kind, f"took {took:.1f} s")

    def _fault(self, kind: str, text: str) -> None:
        kept = self.folder / f"fault-{len(self.count.faults)}.yaml"
        with contextlib.suppress(OSError):
            shutil.copy(self.folder / f"{kind}.yaml", kept)
        self.count.faults.append(f"{kind} ({kept.name}): {text}")

    def _write(self, kind: str, text: str) -> Path:
        path = self.folder / f"{kind}.yaml"
        path.write_bytes(bad_bytes(text, self.chance))
        return path

    def _program(self, kind: str, *words: str) -> None:
        """The program itself: its exit code is a documented one, and no traceback is printed."""
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run(lambda: program(list(words)))
        if code not in CODES or "Traceback" in out.getvalue() + err.getvalue():
            self._fault(kind, f"{words}: exit code {code}; {err.getvalue()[-600:]}")

    def _now_and_then(self, kind: str) -> bool:
        self.count.loaded[kind] += 1
        return self.count.loaded[kind] % self.every == 0

    def _same(self, kind: str, path: Path, value: Callable[[Path], object]) -> object:
        """What a file gives, which must be what its clean reading gives. Raises HowdeepError where it does not load."""
        given = value(path)
        clean = path.with_name(f"clean-{kind}.yaml")
        clean.write_text(dump(read(path).value), encoding="utf-8")
        try:
            again = value(clean)
        except HowdeepError as error:
            self._fault(kind, f"loads, and its clean reading does not: {error}")
            return given
        if given != again:
            self._fault(kind, "its clean reading gives other values")
        return given

    def _job(self) -> None:
        path = self._write("job", self.chance.choice(self.cases))
        if self.chance.random() < 1 / self.every:
            self._program("job", self.chance.choice(("assess", "quote", "why", "sheet")), str(path))

        def values(file: Path):
            job = self.shop.open_job(file)
            return job.job, job.values, job.unknown, job.later, job.engine

        self._same("job", path, values)
        if self._now_and_then("job"):
            told = [self._answer(file) for file in (path, path.with_name("clean-job.yaml"))]
            self.count.answered += 1
            if told[0] != told[1]:
                self._fault("job", f"its clean reading is answered otherwise: {told}")

    def _answer(self, path: Path) -> str:
        job = self.shop.open_job(path)
        facts, _ = facts_of(self.shop.knowledge, job)
        return answer_in_short(
            self.shop.knowledge, job, facts, evaluate_all(self.shop.knowledge, facts.values), self.shop.prices
        )

    def _prices(self) -> None:
        path = self._write("prices", self.prices)
        if self.chance.random() < 1 / self.every:
            self._program("prices", "prices", self.chance.choice(("check", "show")), str(path))
        self._same(
            "prices", path, lambda file: dataclasses.replace(load_prices(file, self.shop.knowledge), questions=())
        )
        self.count.loaded["prices"] += 1

    def _sheet(self) -> None:
        path = self._write("sheet", self.chance.choice(self.sheets))
        if self.chance.random() < 1 / self.every:
            self._program("sheet", "engine", self.chance.choice(("check", "show")), str(path))
        self._same("sheet", path, lambda file: load_sheet(file).engine)
        self.count.loaded["sheet"] += 1

    def _rules(self) -> None:
        relative, text = self.chance.choice(self.rules)
        folder = self.folder / "own"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        path = self._write("rules", text)
        if relative.name == "settings.yaml" or len(relative.parts) == 1:
            own = folder / relative.name
        else:
            own = folder / f"{relative.parts[0]}.yaml"

        def values(file: Path):
            shutil.copy(file, own)
            return dataclasses.replace(load((shipped_rules(), folder)), version="", places={}, doubts=())

        self._same("rules", path, values)
        self.count.loaded["rules"] += 1

    def _form(self) -> None:
        """One form of the page with odd values in some of its fields."""
        client, folder = self.page
        name = self.chance.choice(("a", "b"))
        form_at = self.chance.choice(
            (
                "/new",
                f"/job/{name}/readings",
                f"/job/{name}/answers",
                f"/job/{name}/ask",
                f"/job/{name}/place",
                f"/job/{name}/close",
                f"/job/{name}/waive",
                "/shop",
                f"/job/{name}/prices",
                "/prices",
                "/engines",
                f"/job/{name}/engine",
                f"/job/{name}/why/{self.chance.choice(ODD) or 'x'}",
                "/?search=%00&page=-1",
            )
        )
        headers = {"Host": "localhost"}
        shown = client.get(form_at, headers=headers, follow_redirects=True)
        if shown.status_code >= 500:
            raise AssertionError(f"{form_at}: {shown.status_code}")
        text = shown.get_data(as_text=True)
        for form in re.findall(r"<form[^>]*method=\"post\".*?</form>", text, re.DOTALL)[:1]:
            target = re.search(r'action="([^"]*)"', form)
            names = re.findall(r'name="([^"]+)"', form)
            values = {
                html.unescape(key): html.unescape(value)
                for key, value in re.findall(r'name="([^"]+)"[^>]*value="([^"]*)"', form)
            }
            for key in names:
                if key != "form_token" and self.chance.random() < 0.4:
                    values[html.unescape(key)] = self.chance.choice(ODD)
            where = html.unescape(target.group(1)) if target and target.group(1) else shown.request.path
            done = client.post(where, data=values, headers=headers)
            self.count.posted[done.status_code] += 1
            if done.status_code >= 500:
                raise AssertionError(f"{where}: {done.status_code} for {values}")
        self.count.loaded["form"] += 1
        for kept in ("a", "b"):  # a job that a form spoiled would be no test of the next one
            with contextlib.suppress(HowdeepError):
                self.shop.open_job(folder / f"{kept}.yaml")
                continue
            raise AssertionError(f"after {form_at} the job can no longer be read")

    @property
    def page(self):
        """A client of the page over two worked cases of its own."""
        if self._page is None:
            from howdeep.web.app import create_app

            folder = self.folder / "jobs"
            folder.mkdir()
            for name, text in (("a", self.cases[0]), ("b", self.cases[len(self.cases) // 2])):
                (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
            (folder / "prices.yaml").write_text(self.prices, encoding="utf-8")
            self._page = create_app(folder, self.shop, secret=b"s" * 32).test_client(), folder
        return self._page


def kinds(seed: int, only: str = "") -> Iterator[str]:
    """Kinds to be tried, without end."""
    chance = random.Random(seed)
    among = (
        {only: 1}
        if only in WEIGHTS
        else {kind: weight for kind, weight in WEIGHTS.items() if only != FILES or kind in ("job", "prices", "sheet")}
    )
    while True:
        yield chance.choices(list(among), list(among.values()))[0]


def fuzz(seed: int, *, count: int = 0, seconds: float = 0.0, only: str = "") -> Count:
    """So many, or as many as go into the time."""
    import os

    with tempfile.TemporaryDirectory() as place:
        before = {name: os.environ.get(name) for name in ("HOWDEEP_CACHE", "HOWDEEP_STATE")}
        os.environ.update({name: str(Path(place) / name) for name in before})
        try:
            made, begun = Fuzz(seed, Path(place)), time.monotonic()
            made.every = 10 * EVERY if only == FILES else EVERY
            for number, kind in enumerate(kinds(seed, only)):
                if number >= count if count else time.monotonic() - begun > seconds:
                    break
                made.one(kind)
        finally:
            for name, value in before.items():
                os.environ.pop(name) if value is None else os.environ.update({name: value})
    return made.count


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--minutes", type=float, default=0.0)
    options.add_argument("--count", type=int, default=0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--only", default="", choices=["", FILES, *WEIGHTS])
    given = options.parse_args()
    found = fuzz(given.seed, count=given.count, seconds=60 * (given.minutes or 1.0), only=given.only)
    for kind in WEIGHTS:
        print(f"{kind:8} tried {found.tried[kind]:6}  refused {found.refused[kind]:6}  taken {found.loaded[kind]:6}")
    print(
        f"tried {sum(found.tried.values())}, answered twice {found.answered}, longest {found.longest:.2f} s of "
        f"processor time, faults {len(found.faults)}"
    )
    print("forms posted, by status: " + ", ".join(f"{code}: {times}" for code, times in sorted(found.posted.items())))
    for text in found.faults[:20]:
        print(text)


if __name__ == "__main__":
    main()
