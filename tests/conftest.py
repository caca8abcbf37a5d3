"""What every test may use: the small rule base of tests/small_rules and the shipped one, each loaded once."""

import contextlib
import gc
import importlib
import os
from pathlib import Path

import pytest
from flask import Flask
from hypothesis import settings
from jinja2 import FileSystemBytecodeCache

from . import lasting, sharing
from .places import ROOT
from .sampling import WHOLE, left_out, some

settings.register_profile("same_again", derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same_again"))
"""The same examples in every run, so that a change is judged by itself. HYPOTHESIS_PROFILE=default draws new ones."""

HEAVY = (
    "test_web_browser.py",
    "test_cases.py",
    "test_one_screen.py",
    "test_quote.py",
    "test_unknown_engines.py",
    "test_types.py",
    "test_wheel.py",
    "test_web_prices.py",
    "test_record.py",
    "test_cli.py",
    "test_shop.py",
    "test_web.py",
    "test_web_decisions.py",
    "test_parity.py",
    "test_terminal_interview.py",
    "test_units_everywhere.py",
    "test_rules_engine.py",
    "test_web_saving.py",
    "test_web_kept.py",
    "test_held.py",
    "test_web_whole.py",
    "test_work_knowledge.py",
    "test_sheet_terminal.py",
    "test_together.py",
    "test_web_reckoning.py",
)
"""Files that take longest begin first, so that no worker is left with one of them at the end."""
TOGETHER = {
    name: shared
    for shared, names in {
        "answers": (
            "test_one_screen.py",
            "test_quote.py",
            "test_why_answer.py",
            "test_work_done.py",
            "test_estimate_page.py",
        ),
        "assessed": ("test_held.py", "test_found.py", "test_bills.py"),
    }.items()
    for name in names
}
"""Files that one worker takes, for what they share is long in the making."""
SLOW = frozenset(
    line.split()[0]
    for line in Path(__file__).with_name("slow.txt").read_text().splitlines()
    if not line.startswith("#")
)
"""Files that `make quick` leaves out, but for some twenty of the worked cases."""
SELDOM = (5_000, 20, 100)
"""When garbage in circles is looked for: a process that holds hundreds of answers spent a quarter of its time on it."""
SMALL = ROOT / "tests" / "small_rules"
SIX = ("brockwell-4", "dunmore-d4", "pell-1", "pell-2", "skerry-6", "tarn-30")


def findings_in(knowledge, files):
    """Id -> finding of those that stand in these files of the rule base."""
    stems = tuple(f"/findings/{name}.yaml" for name in files)
    return {
        name: finding
        for name, finding in knowledge.findings.items()
        if knowledge.places[f"findings/{name}"][0].replace("\\", "/").endswith(stems)
    }


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """Copies of the rule base made by tests stay out of the user's cache; templates of the page are compiled once."""
    of_run = tmp_path_factory.getbasetemp()
    of_run = of_run.parent if "PYTEST_XDIST_WORKER" in os.environ else of_run
    for name in ("templates", "answers"):
        (of_run / name).mkdir(exist_ok=True)
    Flask.jinja_options = {"bytecode_cache": FileSystemBytecodeCache(str(of_run / "templates"))}
    lasting.FOLDER[:] = [of_run / "answers"]
    os.environ["HOWDEEP_CACHE"] = str(tmp_path_factory.mktemp("cache"))
    os.environ["HOWDEEP_STATE"] = str(tmp_path_factory.mktemp("state"))
    for name in ("HOWDEEP_RULES", "HOWDEEP_PRICES", "HOWDEEP_SHOP"):
        os.environ.pop(name, None)


@pytest.fixture(scope="module", autouse=True)
def shared(request):
    """Which of what is shared is given to the tests of a file."""
    sharing.use_for(request.path.name)
    gc.set_threshold(*SELDOM)  # the page that is served sets its own


@pytest.fixture(scope="session")
def small():
    from howdeep.knowledge.load import load

    return load([SMALL])


@pytest.fixture(scope="session")
def shipped():
    from howdeep.knowledge.load import load
    from howdeep.knowledge.where import shipped_rules

    return load([shipped_rules()])


@pytest.fixture(scope="session")
def limits(shipped):
    """General limit -> its figure."""
    return {name: limit.value for name, limit in shipped.limits.items()}


@pytest.fixture(scope="session")
def engines():
    """Six engines that differ in build: id -> sheet."""
    from howdeep.knowledge.engines import load_engine
    from howdeep.knowledge.where import shipped_rules

    return {name: load_engine(shipped_rules() / "engines" / f"{name}.yaml") for name in SIX}


@pytest.fixture(scope="session")
def shop(own_cache):
    from howdeep.assessment.session import open_shop

    return open_shop(example_prices=True)


class Assessed(dict):
    """Worked case -> its answer without ranked checks, worked out when it is first asked for."""

    def __init__(self, shop):
        super().__init__()
        self.shop = shop

    def __missing__(self, stem):
        from howdeep.knowledge.where import shipped_cases

        job = self.shop.open_job(shipped_cases() / f"{stem}.yaml")
        self[stem] = self.shop.assess(job, checks=False, flips=False)
        return self[stem]


@pytest.fixture(scope="session")
def assessed(shop):
    """Answers of the worked cases that the tests of one process share."""
    return Assessed(shop)


@pytest.fixture(scope="session")
def answers(shop):
    """A sample of the worked cases -> their answers with ranked checks, which those that read them share."""
    from howdeep.knowledge.where import shipped_cases

    paths = some(sorted(shipped_cases().glob("*.yaml"))[::3], 3)
    paths = sorted(
        {*paths, *shipped_cases().glob("said_*.yaml")}
    )  # those that contradict themselves, whatever the sample
    return {path.stem: shop.assess(shop.open_job(path), flips=False) for path in paths}


@pytest.fixture
def folder(tmp_path):
    """A folder of jobs with one worked case in it."""
    from .pages import folder_with_case

    return folder_with_case(tmp_path)


@pytest.fixture
def page(folder, shop):
    """A client of the local page over that folder."""
    from howdeep.web.app import create_app

    from .pages import Page

    return Page(create_app(folder, shop))


def pytest_collection(session):
    """Each worker of a whole run first loads a share of the files, so that a file is compiled by one and not by all."""
    worker = getattr(session.config, "workerinput", None)
    if worker is None or not all(map(os.path.isdir, session.config.args)):
        return
    number, workers = int(worker["workerid"].removeprefix("gw")), worker["workercount"]
    for path in sorted(Path(__file__).parent.glob("test_*.py"))[number::workers]:
        with contextlib.suppress(Exception):  # a file that cannot be loaded is reported where it is collected
            importlib.import_module(f"{__package__}.{path.stem}")


def pytest_collection_finish(session):
    """What was loaded stays and is not looked through for garbage."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(tryfirst=True)  # before marks are chosen by
def pytest_collection_modifyitems(config, items):
    """The files of HEAVY first, in their order; all others as they come; of long sweeps a sample."""
    out = left_out(items)
    if out:
        gone = set(map(id, out))
        config.hook.pytest_deselected(items=out)
        items[:] = [item for item in items if id(item) not in gone]
    items.sort(key=lambda item: HEAVY.index(item.path.name) if item.path.name in HEAVY else len(HEAVY))
    for number, item in enumerate(items):
        if item.path.name in SLOW and (item.path.name != "test_cases.py" or number % (20 if WHOLE else 7)):
            item.add_marker(pytest.mark.slow)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Each file, or the files that share something, goes to one worker."""
    from xdist.scheduler import LoadScopeScheduling

    class ByFile(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            file = nodeid.split("::", 1)[0]
            return TOGETHER.get(Path(file).name, file)

    return ByFile(config, log)
