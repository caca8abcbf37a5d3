"""All readings of a job to facts that rules can read, with how each came about and what is to be said of it."""

from __future__ import annotations

from collections.abc import Mapping

from ..knowledge.engine_facts import engine_facts
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Facts, Remark
from ..model.truth import Truth
from .admitted import Valid, admit
from .computing import compute, order, question
from .judged import reduce_judged
from .measured import Collect, Taken
from .order_sizes import SizeChoice
from .plausibility import question_declared


def reduce(job: OpenJob, knowledge: Knowledge, valid: Valid) -> Facts:
    """Facts of a job: its answers and readings, how the engine is built, and every reduced fact.

    A reading whose validity is absent, that is refused on this engine or that cannot be right is kept in the job but is
    in neither values nor reductions; a remark says so. Pure: same job and rule base, same facts.
    """
    taken, remarks, first = admit(job, knowledge, valid)
    taken, questioned = _questioned(taken)
    out = Collect(taken)
    reduce_judged(taken, out)
    compute(taken, out)
    refused = {remark.observation for remark in out.remarks if remark.kind == "refused"}
    values = {name: value for name, value in taken.values.items() if name not in refused}
    reductions = [*out.reductions, *first]
    sheet = [Remark("engine_sheet", "questioned", text) for text in job.sheet_questions]
    everything = sorted(
        (*sheet, *remarks, *questioned, *out.remarks), key=lambda item: (item.observation, item.kind, item.text)
    )
    return Facts(
        values=dict(
            sorted({**values, **engine_facts(job.engine), **{item.fact: item.value for item in reductions}}.items())
        ),
        reductions={item.fact: item for item in sorted(reductions, key=lambda item: item.fact)},
        remarks=tuple(dict.fromkeys(everything)),
    )


def order_sizes(job: OpenJob, knowledge: Knowledge, valid: Valid | None = None) -> Mapping[str, SizeChoice]:
    """Size fact -> what to order, from what it was measured, why not another size, and the second check.

    Only what the measurements decide; questioned and invalid measurements decide nothing. In order of id. Pure.
    """
    taken, _, _ = admit(job, knowledge, valid or (lambda name: Truth.PRESENT))
    return order(_questioned(taken)[0])


def _questioned(taken: Taken) -> tuple[Taken, list[Remark]]:
    """The readings that are believed, and a remark for each that is not."""
    taken, declared = question_declared(taken)
    taken, computed = question(taken)
    return taken, [*declared, *computed]
