"""Which observations stand on a sheet that is filled in by hand: those of a test, of the bench, or of the open engine,
in the order in which they are typed in afterwards."""

from __future__ import annotations

from ..decision.plan import one_round
from ..errors import Fault, HowdeepError, nearest
from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import applies
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.terms import RUNGS, Rung
from ..quote.blank import blank_sheet, within
from ..quote.jobs import rung_of
from ..quote.sheet_values import BlankSheet
from ..quote.sheets import sheets_of
from .conditions import CONDITIONS, conditions_of
from .flow import flow
from .opened import opened

TEARDOWN, BENCH, ALL = "teardown", "bench", "all"


def what_next(answer: Assessment) -> str:
    """The sheet that is wanted next: of the teardown where the engine stands open or is to be looked into, else of the
    bench."""
    return TEARDOWN if answer.decision.opened or answer.decision.kind == "look_inside" else BENCH


def sheet_to_fill(knowledge: Knowledge, answer: Assessment, what: str = "", units: str = "") -> BlankSheet:
    """The sheet for an observation or a check by its id, for `bench` (the round that decides), for `all` (every test
    worth making) or for `teardown`; without one, what comes next. The checks of `answer` are ranked. Raises
    HowdeepError for a name that is none, with the nearest."""
    what = what or what_next(answer)
    built = engine_facts(answer.job.engine)
    if what == TEARDOWN:
        key = answer.decision.job
        sheets = sheets_of(knowledge, answer, key, units)
        depth: Rung = max(rung_of(key), "top_end", key=RUNGS.index)
        names = within(knowledge, answer, opened(knowledge, answer.job, answer), depth)
        return blank_sheet(
            knowledge,
            answer,
            "Teardown sheet",
            names,
            strip=sheets.strip,
            strip_cautions=sheets.strip_cautions,
            procedures=False,
            units=units,
        )
    if what == BENCH:
        first = [check for check in one_round(knowledge.settings, answer.checks) if check.moment == "test"]
        round_ = dict.fromkeys(name for check in first for name in check.observations if name in answer.not_asked)
        # as the bench asks: what stands before a promise first, and last what belongs to a check that was given up
        asked = [question.observation for question in flow(knowledge, answer.job, answer, bench=True).worth_asking]
        names = tuple(dict.fromkeys((*(name for name in asked if name in round_), *round_)))
        title = "Tests to make first, in order"
    elif what == ALL:
        every = flow(knowledge, answer.job, answer, bench=True).worth_asking
        names, title = tuple(question.observation for question in every), "All tests worth making, in order"
    elif what in knowledge.checks:
        names, title = knowledge.checks[what].observations, knowledge.checks[what].title
    elif what in knowledge.observations:
        names, title = (what,), knowledge.observations[what].title
    else:
        known = (*knowledge.checks, *knowledge.observations, TEARDOWN, BENCH, ALL)
        near = f"; {meant}" if (meant := nearest(what, known)) else ""
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                f"there is no test or check '{what[:60]}'",
                f"'{TEARDOWN}', '{BENCH}', '{ALL}', or a name of 'howdeep assess --checks'{near}",
            )
        )
    names = tuple(name for name in names if applies(knowledge.observations[name], built))
    wanted = dict.fromkeys(name for name in names if knowledge.observations[name].group == CONDITIONS)
    for name in names:
        wanted.update(dict.fromkeys(conditions_of(knowledge, answer.job, name)))
    return blank_sheet(
        knowledge,
        answer,
        title,
        tuple(name for name in names if name not in wanted),
        conditions=tuple(wanted),
        procedures=what not in (BENCH, ALL),
        units=units,
    )
