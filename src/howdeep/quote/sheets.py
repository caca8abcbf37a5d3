"""The assembly sheet and the proof sheet, from operations and the engine sheet."""

from __future__ import annotations

from collections.abc import Iterable

from ..knowledge.engine_facts import count_of, engine_facts
from ..knowledge.tools import tool_sentence
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.results import Assessment, WorkItem
from ..model.shown_units import in_units
from ..model.terms import DEPTH, Stage
from ..model.values import Value, Values
from ..pricing.quantities import parts_of
from ..work.stages import in_order, steps_by_stage
from .jobs import rung_of, work_of
from .sheet_figures import figure_text, filled, measured_each
from .sheet_values import ProofLine, SheetCaution, SheetPart, Sheets
from .sizes_chosen import journals_told, sizes_chosen

AT_THE_HEAD = 3
"""A caution that at least so many pieces of work need stands at the head of the sheet; any other before the first that
needs it."""
_OPEN_FROM = DEPTH["top_end"]

RUN_IN = (
    "Prime the oil before the first start; no load until there is pressure, or oil is seen to move.",
    "First start: watch oil, coolant and exhaust; listen; stop at once for a knock or for no oil pressure.",
    "Vary the speed at light load for the first half hour; no long idling, no full load.",
    "Leak check hot and again cold: seals, covers, head joint, hoses, fuel.",
    "Cool down; tighten the head again if its gasket asks for it; set the valve clearance again.",
    "Change oil and filter after the first hours and look for metal; set the valve clearance once more.",
)


def sheets_of(knowledge: Knowledge, answer: Assessment, key: str | None = None, units: str = "") -> Sheets:
    """Both sheets for a job by its key (by default the one that the answer speaks of), figures in the shop's units.

    Where the job opens the engine, what is done while it comes apart is kept from the assembly (`strip`): it stands on
    the sheet of the teardown.
    """
    key = key or answer.decision.job
    work = work_of(knowledge, answer, key)
    sure = {item.operation: item for item in work.items if not item.if_found}
    each = measured_each(knowledge)
    built = engine_facts(answer.job.engine)
    made = []
    for stage, name in in_order(knowledge.operations, sure):
        operation, steps = knowledge.operations[name], steps_by_stage(knowledge.operations[name], built)[stage]
        if not steps:
            continue
        renew = tuple(
            knowledge.parts[part].title
            for part, _ in parts_of(knowledge, operation, answer.job.engine)
            if knowledge.parts[part].never_reuse
        )
        made.append(
            (
                SheetPart(
                    name,
                    operation.title,
                    (),
                    tuple(filled(step, answer.job.engine, knowledge.limits, units, each) for step in steps),
                    renew if stage == operation.stage else (),
                    stage,
                ),
                bites(knowledge, sure[name], stage, built),
            )
        )
    opens = _OPEN_FROM <= DEPTH[rung_of(key)] < DEPTH["replace"]
    head, parts = with_cautions(knowledge, [entry for entry in made if not (opens and entry[0].stage == "strip")])
    strip_head, strip = with_cautions(knowledge, [entry for entry in made if opens and entry[0].stage == "strip"])
    proof = [_proof(knowledge, answer, name, units) for check in work.after for name in _observations(knowledge, check)]
    return Sheets(
        parts,
        tuple(dict.fromkeys(proof)),
        RUN_IN,
        head,
        sizes_chosen(knowledge, answer, units),
        journals_told(knowledge, answer, units),
        strip,
        strip_head,
    )


def bites(knowledge: Knowledge, item: WorkItem, stage: Stage, built: Values) -> tuple[str, ...]:
    """Cautions of an operation that bite at one of its stages; one that bites at none of them stands at its first.
    `built` holds the engine.* facts."""
    stages = [name for name, steps in steps_by_stage(knowledge.operations[item.operation], built).items() if steps]
    found = []
    for name in item.cautions:
        where = [one for one in stages if not knowledge.cautions[name].stages or one in knowledge.cautions[name].stages]
        if stage in (where or stages[:1]):
            found.append(name)
    return tuple(found)


def with_cautions(
    knowledge: Knowledge, made: Iterable[tuple[SheetPart, tuple[str, ...]]]
) -> tuple[tuple[SheetCaution, ...], tuple[SheetPart, ...]]:
    """(cautions at the head, parts) with every caution told once: at the head where many need it, else before the first
    part that does; where it bites again it is named by its letter."""
    made = list(made)
    needed: dict[str, int] = {}
    for _, names in made:
        for name in names:
            needed[name] = needed.get(name, 0) + 1
    many = sorted(name for name, count in needed.items() if count >= AT_THE_HEAD)
    order = [*many, *(name for name in needed if name not in many)]
    marks = {name: letters(index) for index, name in enumerate(order)}

    def caution(name: str, *, told: bool) -> SheetCaution:
        entry = knowledge.cautions[name]
        return SheetCaution(marks[name], entry.title, entry.text if told else "")

    told, parts = set(many), []
    for part, names in made:
        here = tuple(caution(name, told=name not in told) for name in names)
        told.update(names)
        parts.append(SheetPart(part.operation, part.title, here, part.steps, part.renew, part.stage))
    return tuple(caution(name, told=True) for name in many), tuple(parts)


def letters(index: int) -> str:
    """A, B ... Z, AA, AB: marks by which a caution is named again."""
    return (letters(index // 26 - 1) if index >= 26 else "") + chr(65 + index % 26)


def _observations(knowledge: Knowledge, check: str) -> tuple[str, ...]:
    entry = knowledge.checks.get(check)
    names = entry.observations if entry else (check,)
    return tuple(
        name
        for name in names
        if name in knowledge.observations and knowledge.observations[name].group != "test_conditions"
    )


def _proof(knowledge: Knowledge, answer: Assessment, name: str, units: str) -> ProofLine:
    item = knowledge.observations[name]
    value, lacking = answer.job.values.get(name), tool_sentence(knowledge, name)
    each = value if isinstance(value, tuple) and not any(isinstance(one, tuple) for one in value) else None
    return ProofLine(
        name,
        item.title + (f" ({lacking})" if lacking else ""),
        "" if value is None else reading_text(item, value, units),
        count_of(answer.job.engine, item.each),
        tuple("" if one is None else reading_text(item, one, units) for one in each) if each else (),
        wanted_of(item, answer.job.engine, units),
    )


def wanted_of(item: Observation, engine: Engine, units: str = "") -> str:
    """The figures of the engine sheet that an observation is held against; empty where the sheet gives none."""
    told = [(path, figure_text(engine, path, units, own=True)) for path in item.sheet]
    told = [
        (path, text)
        for path, text in told
        if not any(text and other == f"{path}_exhaust" and its for other, its in told)
    ]
    named = len([text for _, text in told if text]) > 1
    return "; ".join(
        f"{_named(path)} {text}" if named and index else text for index, (path, text) in enumerate(told) if text
    )


def _named(path: str) -> str:
    """'crankpins.out_of_round' -> 'out of round'."""
    return path.rpartition(".")[2].replace("_", " ")


def reading_text(item: Observation, value: Value, units: str = "") -> str:
    """A value as it stands on paper, in the shop's units."""
    if isinstance(value, tuple):
        return "  ".join(
            f"{index}: {'-' if one is None else reading_text(item, one, units)}"
            for index, one in enumerate(value, 1)
            if not isinstance(one, tuple)
        )
    if isinstance(value, float):
        return in_units(f"{value:.4g} {item.unit}".strip(), units)
    return item.answers.get(str(value), f"{value} {item.unit}".strip())
