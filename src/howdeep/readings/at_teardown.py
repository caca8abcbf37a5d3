"""Measurements of the open engine, reduced to verdicts against the sheet's limits or the general ones."""

from __future__ import annotations

from . import flatness
from .figures import figure, first
from .judge import basis_of
from .open_crank import reduce_crank
from .open_cylinders import reduce_cylinders
from .open_valves import reduce_valves
from .taken import Collect, Found, Taken
from .telling import say_close, told_of


def reduce_teardown(taken: Taken) -> Found:
    """Every reduced fact of head, bores, pistons, rings, crankshaft and valves."""
    out = Collect(taken)
    for part in (_flat, reduce_cylinders, reduce_crank, reduce_valves):
        part(taken, out)
    return out.done()


def _flat(taken: Taken, out: Collect) -> None:
    surfaces = (
        ("head", taken.engine.head_flatness, taken.engine.build.head_takes_resurfacing == "yes", ("along", "across")),
        ("deck", taken.engine.deck_flatness, True, ("along",)),
    )
    for name, text, resurfacing, ways in surfaces:
        judged = {}
        for way in ways:
            gap = taken.number(f"{name}_flatness_{way}", "in")
            if gap is not None:
                limit = first(figure(text, "in"), taken.limits.get(f"head_warp_{way}", "in"))
                judged[way] = flatness.judge_flatness(gap, limit, takes_resurfacing=resurfacing)
        if not judged:
            continue
        told = "; ".join(f"{way}: {told_of(item)}" for way, item in judged.items())
        basis = basis_of(judged.values())
        out.fact(f"{name}.flatness", flatness.verdict(*judged.values()), told, basis)
        for way, item in judged.items():
            if item.verdict == "too_close":
                say_close(out, f"{name}_flatness_{way}", {1: item})
