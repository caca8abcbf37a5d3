"""The functions that the rules may name (computed.yaml), and what each phase runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from ..knowledge.signatures import SIGNATURES, Phase
from ..model.results import Remark
from . import (
    admitted,
    at_teardown,
    at_test,
    believed_parts,
    believed_tests,
    open_crank,
    open_cylinders,
    open_valves,
    services,
)
from . import order_sizes as sizes
from .given import Given
from .measured import Collect, Taken
from .order_sizes import SizeChoice

FUNCTIONS: dict[str, Callable[..., Any]] = {
    **admitted.FUNCTIONS,
    "compression_believed": believed_tests.believe_compression,
    "vacuum_believed": believed_tests.believe_vacuum,
    "battery_believed": believed_tests.believe_battery,
    "bores_believed": believed_parts.believe_bores,
    "skirts_believed": believed_parts.believe_skirts,
    "journals_believed": believed_parts.believe_journals,
    "lift_believed": believed_parts.believe_lift,
    "compression": at_test.reduce_compression,
    "leakage": at_test.reduce_leakage,
    "vacuum": at_test.reduce_vacuum,
    "oil_pressure": services.reduce_oil_pressure,
    "cooling": services.reduce_cooling,
    "blow_by_of_size": services.reduce_blow_by,
    "head_flatness": at_teardown.reduce_head,
    "deck_flatness": at_teardown.reduce_deck,
    "bores": open_cylinders.reduce_bores,
    "pistons": open_cylinders.reduce_pistons,
    "sleeves": open_cylinders.reduce_sleeves,
    "journals": open_crank.reduce_journals,
    "lobes": open_valves.reduce_lobes,
    "shells": sizes.choose_shells,
    "shims": sizes.choose_shims,
    "bored_sizes": sizes.choose_bored,
}
"""Name in the rules -> function; what each must be given stands in knowledge/signatures.py, in the order they run."""
_ORDER = {name: place for place, name in enumerate(SIGNATURES)}


def _of_phase(taken: Taken, phase: Phase) -> Iterator[tuple[Callable[..., Any], Given]]:
    """Functions of a phase for which a reading was taken, in their order."""
    named = [
        item
        for item in taken.rules.computed.values()
        if SIGNATURES[item.by].phase == phase and any(name in taken.values for name in item.readings.values())
    ]
    for item in sorted(named, key=lambda item: _ORDER[item.by]):
        yield FUNCTIONS[item.by], Given(taken, item)


def question(taken: Taken) -> tuple[Taken, list[Remark]]:
    """The readings that are believed, and a remark for each that is not. One question sees what the one before left."""
    remarks: list[Remark] = []
    for function, given in _of_phase(taken, "believe"):
        taken, said = function(Given(taken, given.by))
        remarks += said
    return taken, remarks


def compute(taken: Taken, out: Collect) -> None:
    """Every computed fact whose readings were taken."""
    for function, given in _of_phase(taken, "reduce"):
        function(given, out)


def order(taken: Taken) -> Mapping[str, SizeChoice]:
    """Every size to order that the measurements decide, in order of id."""
    found: dict[str, SizeChoice] = {}
    for function, given in _of_phase(taken, "order"):
        found.update(function(given))
    return dict(sorted(found.items()))
