"""Which ids of the rule base stand in the program's own text, and why: everything else is said by the rules."""

import ast
import re
from collections import defaultdict
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "src" / "howdeep"
KINDS = (
    "observations",
    "reduced",
    "findings",
    "causes",
    "operations",
    "parts",
    "checks",
    "limits",
    "cautions",
    "history",
    "lines",
    "tools",
    "scopes",
    "holds",
    "machining",
    "first_looks",
    "first_questions",
    "contradictions",
    "gauges",
    "frequencies",
)
"""Computations are left out: their functions have names of their own, to which the rules point."""
FIELD = "a field of the engine sheet is called so too: the sheet is meant"
BUILD = "a field of the build is called so too: how the engine is built is meant"
EACH = "what a reading is taken of, one value each: a word of the rules' own grammar, as 'cylinder' is"
RUNG = "a depth of work, on which the whole decision stands: its scope has the same id"
CHART = "the one chart of the program: compression, dry and wet, beside what is expected"
ALLOWED = {
    "blow_by": FIELD,
    "bore.wear": FIELD,
    "bore_out_of_round": FIELD,
    "cam_lift_exhaust": FIELD,
    "compression_spread_percent": FIELD,
    "cranking_rpm": FIELD,
    "oil_pressure_idle": FIELD,
    "oil_pressure_speed": FIELD,
    "seat_width_exhaust": FIELD,
    "valve_margin": FIELD,
    "wet_rise_percent": FIELD,
    "wet_rise_least": FIELD,
    "hand_crank": BUILD,
    "oil_gauge": BUILD,
    "rear_seal": BUILD,
    "glow_plug": "a torque of the engine sheet is called so too",
    "exhaust_valve": EACH,
    "inlet_valve": EACH,
    "top_end": RUNG,
    "tune_up": RUNG,
    "compression_dry": CHART,
    "compression_wet": CHART,
    "compression.expected_low": CHART,
    "compression.expected_high": CHART,
    "compression.wet_answer": "papers say of the wet test what oil did, beside the dry one",
    "uses_oil": "an answer to what the customer came for is called so too: complaints of an engine that runs",
    "complaint_also": "the talk begins with what the customer came for and what else troubles him",
    "together_again": "whether an opened engine was closed decides what it can do, and a job list reads files alone",
    "turns_over": "whether the engine can be turned decides what can be asked of it at all",
}
"""Id -> why the program itself means it."""


def ids_of(knowledge):
    """Every id that is no plain word of the language: one with a dot or an underscore."""
    return {name for kind in KINDS for name in getattr(knowledge, kind) if "_" in name or "." in name}


def pattern_of(node):
    """A regular expression for an id put together around words; None for prose, or for hardly more than one word."""
    fixed = [part.value for part in node.values if isinstance(part, ast.Constant)]
    words = re.findall("[a-z]{2,}", " ".join(fixed))
    begins = isinstance(node.values[0], ast.Constant) and re.fullmatch(r"[a-z_]+\.", node.values[0].value)
    if not re.fullmatch("[a-z0-9_.]+", "".join(fixed)) or (len(words) < 2 and not begins):
        return None
    return re.compile(
        "".join(re.escape(part.value) if isinstance(part, ast.Constant) else "[a-z0-9_.]+" for part in node.values)
    )


def ids_in(source, ids):
    """(id, line) of every id that a text constant is, or that a text put together can come to."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in ids:
            yield node.value, node.lineno
        elif isinstance(node, ast.JoinedStr) and (pattern := pattern_of(node)):
            yield from ((name, node.lineno) for name in ids if pattern.fullmatch(name))


@pytest.fixture(scope="module")
def used(shipped):
    ids, found = ids_of(shipped), defaultdict(list)
    for path in sorted(PACKAGE.rglob("*.py")):
        for name, line in ids_in(path.read_text(encoding="utf-8"), ids):
            found[name].append(f"{path.relative_to(PACKAGE)}:{line}")
    return found


def test_no_id_stands_in_the_program_but_where_it_is_meant(used):
    others = {name: places for name, places in used.items() if name not in ALLOWED}
    assert not others, "say it in the rules (docs/rules.md), or give a reason in ALLOWED"


def test_every_id_that_is_allowed_is_still_used(used):
    assert not [name for name in ALLOWED if name not in used]
    assert len(ALLOWED) <= 40


def test_an_id_is_found_whole_and_put_together(shipped):
    ids = ids_of(shipped)
    source = (
        'a = "ring.gap_verdict"\nb = f"lash_{kind}_measured"\nc = f"size.{part}"\nd = "rings"\ne = f"{name}_exhaust"'
    )
    found = set(ids_in(source, ids))
    assert ("ring.gap_verdict", 1) in found and ("lash_inlet_measured", 2) in found and ("size.rings", 3) in found
    assert not {line for _, line in found} & {4, 5}
