"""What the tests of one process share, so that it is worked out once: the rule base, engine sheets and price lists by
their content, answers by what their jobs say, and the commands with their options. A rule base made for a test has
answers of its own; those of a rule base that was loaded from files are shared by every process of the run."""

import functools
import pickle
from collections import OrderedDict
from dataclasses import replace

import typer.main
import typer.testing

from howdeep.assessment import assess, session
from howdeep.assessment import changes as changing
from howdeep.knowledge import cache
from howdeep.knowledge.cache import content_of

from . import lasting

FILES_KEPT, ANSWERS_KEPT, READY_KEPT = 64, 96, 48
"""The newest of each."""


class Kept:
    """A function that is asked once for each key, while it is switched on."""

    def __init__(self, function, key, most):
        self.function, self.key, self.most = function, key, most
        self.on, self.known, self.hits, self.misses = True, OrderedDict(), 0, 0

    def __call__(self, *given, **named):
        if not self.on:
            return self.function(*given, **named)
        key = self.key(*given, **named)
        if key in self.known:
            self.hits += 1
            self.known.move_to_end(key)
        else:
            self.misses += 1
            self.known[key] = (
                self.function(*given, **named),
                given,
                named,
            )  # what is named by its identity must live on
            if len(self.known) > self.most:
                self.known.popitem(last=False)
        return self.known[key][0]


def _of_file(kind, shape, key, read):
    return kind, key


def _of_answer(knowledge, job, prices, **wanted):
    return id(knowledge), pickle.dumps((_nowhere(job), prices)), *sorted(wanted.items())


def _of_more(knowledge, answer, prices, *_):
    return id(knowledge), pickle.dumps((replace(answer, job=_nowhere(answer.job), used=None), prices))


def _of_ready(knowledge, job, facts, findings, prices, *, steps, surprises=True, network=None):
    return id(knowledge), pickle.dumps((_nowhere(job), facts, findings, prices)), steps, surprises, id(network)


def _nowhere(job):
    """What a job says, in whatever file it stands."""
    return replace(job, path="", digest="", places={})


cache._copied = files = Kept(cache._copied, _of_file, FILES_KEPT)


def _lastingly(function, parts):
    """The function, asked once in a run for what its `parts` say, of a rule base that was loaded and not changed."""

    def asked(knowledge, *given, **named):
        content = content_of(knowledge) if answers.on else None
        if content is None:
            return function(knowledge, *given, **named)
        try:
            name = lasting.name_of(function.__name__, content, *parts(*given), *sorted(named.items()))
        except lasting.Nameless:
            return function(knowledge, *given, **named)
        return lasting.kept(name, lambda: function(knowledge, *given, **named))

    return asked


def _job_and_prices(job, prices):
    return _nowhere(job), prices


def _answer_and_more(answer, prices, *more):
    return replace(answer, job=_nowhere(answer.job), used=None), prices, *more


def _whole(knowledge, job, prices, **wanted):
    return (
        _lasting(knowledge, job, prices, **wanted)
        if wanted.get("rank", True)
        else _worked(knowledge, job, prices, **wanted)
    )


_worked, _lasting = assess._assessed, _lastingly(assess._assessed, _job_and_prices)
answers = Kept(_whole, _of_answer, ANSWERS_KEPT)
assess.prepare = ready = Kept(assess.prepare, _of_ready, READY_KEPT)
changes = Kept(_lastingly(changing.with_changes, _answer_and_more), _of_more, ANSWERS_KEPT)
session.look_ups = looked_up = Kept(_lastingly(session.look_ups, _answer_and_more), _of_more, ANSWERS_KEPT)


def _answered(knowledge, job, prices, **wanted):
    answer, open_now = answers(knowledge, job, prices, **wanted)
    return (answer if answer.job == job else replace(answer, job=job)), open_now


def _changed(knowledge, answer, prices):
    return replace(answer, flips=changes(knowledge, answer, prices).flips)


assess._assessed, session.with_changes = _answered, _changed
changing.with_changes = _changed  # for the page, which is loaded later
typer.main.get_command = typer.testing._get_command = functools.cache(typer.main.get_command)
"""A command that is run in the tests' own process is laid out once: it took longer than many a command itself."""
READ_ANEW = {"test_lazy.py"}
"""These are about the copies themselves."""
ANSWERED_ANEW = {"test_same_bytes.py", "test_next_checks.py"}
"""These are about the same answer come by in several ways."""


def use_for(name):
    """Share with the tests of a file what they are not about."""
    files.on = name not in READ_ANEW
    answers.on = ready.on = changes.on = looked_up.on = name not in ANSWERED_ANEW
