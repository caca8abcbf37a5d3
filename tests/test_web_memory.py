"""The memory of the page's server: what is free is given back, and cycles are looked for between answers."""

import gc
import subprocess
import sys
import weakref

import pytest

from howdeep.web.memory import FEW, GROWN, LOOKS, Collector, Trimmer, resident

from .places import ROOT


class Ring:
    """Holds itself, so that only the collector lets it go."""

    def __init__(self):
        self.itself = self


@pytest.fixture
def collect():
    """A collector; afterwards all is as it was."""
    before = gc.get_threshold()
    yield Collector()
    gc.set_threshold(*before)


def young():
    """As many new objects as make a look worth while."""
    return [[] for _ in range(gc.get_threshold()[0] * (FEW + 2))]


def test_cycles_go_between_answers_and_what_is_kept_is_passed_by(collect):
    kept, gone = young(), weakref.ref(Ring())
    assert gone() is not None
    collect()
    assert gone() is None and kept
    passed = gc.get_freeze_count()
    assert passed > len(kept) and collect.looks == 1
    collect()
    assert collect.looks == 1, "nothing came since"
    del kept
    assert gc.get_freeze_count() < passed, "what is passed by goes at once where nothing holds it"


def test_a_ring_that_was_kept_goes_with_a_look_at_everything(collect):
    ring = Ring()
    seen = weakref.ref(ring)
    new = young()
    collect()
    del ring
    new.append(young())
    collect()
    assert seen() is not None, "it was passed by"
    collect.looks = LOOKS - 1
    new.append(young())
    collect()
    assert seen() is None
    collect.looks, ring = 0, Ring()
    seen = weakref.ref(ring)
    collect(anew=True)
    del ring
    collect(anew=True)
    assert seen() is None, "another rule base took the place of one"


def test_python_does_not_go_through_everything_by_itself(collect):
    begun = []
    gc.callbacks.append(lambda phase, told: begun.append(told["generation"]) if phase == "start" else None)
    try:
        new = [young() for _ in range(30)]
    finally:
        gc.callbacks.pop()
    assert new and 1 in begun and 2 not in begun


def test_free_memory_is_given_back_only_when_the_process_has_grown():
    trimmer, calls = Trimmer(), []
    if trimmer.trim is not None:
        trimmer.trim = calls.append
        trimmer()
        trimmer()
        assert calls == [0] and trimmer.least > 10_000_000
        trimmer.least = resident() - 2 * GROWN
        trimmer()
        assert calls == [0], "not twice within a second"
        trimmer.when -= 2
        trimmer()
        assert calls == [0, 0] and trimmer.least < resident() - GROWN, "the least is kept"
    trimmer.trim = None
    trimmer()


def test_a_server_that_is_measured_shares_no_answers():
    loaded = subprocess.run(
        [sys.executable, "-c", "import tests.over_http, sys; print('tests.sharing' in sys.modules)"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert loaded.stdout == "False\n", loaded.stderr
