"""The assembly sheet follows the order in which an engine is put together."""

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.cases.run import case_files
from howdeep.errors import HowdeepError
from howdeep.knowledge.where import shipped_cases
from howdeep.model.operations import Operation, Step, WorkStep
from howdeep.model.terms import RUNGS, STAGES
from howdeep.quote.sheets import sheets_of
from howdeep.work.stages import in_order, steps_by_stage

TEXTBOOK = "published: Small Gas Engines (textbook, edition of 2012), p. 369, summary of the reassembly"
CFR = "published: 14 CFR 43.2(a): disassembled, cleaned, inspected, repaired as necessary, reassembled; then tested"
PRACTICE = "common practice"
ORDERS = (
    ("remove_refit_engine", "strip", "remove_refit_head", "strip", PRACTICE),
    ("decarbonise", "strip", "re_ring", "strip", PRACTICE),
    ("decarbonise", "strip", "remove_refit_head", "head", CFR),
    ("rebore", "block", "full_strip_clean", "block", PRACTICE),
    ("rebore", "block", "re_ring", "pistons", CFR),
    ("hone_bores", "block", "re_ring", "pistons", CFR),
    ("full_strip_clean", "block", "renew_main_bearings_out", "crank", CFR),
    (
        "grind_crank",
        "crank",
        "renew_main_bearings_out",
        "crank",
        "published: TM 9-2815-260-24, p. 5-65: ground, then fitted with the matching undersize",
    ),
    ("polish_journals", "crank", "renew_main_bearings_out", "crank", CFR),
    (
        "dress_journal",
        "pistons",
        "renew_rod_bearings",
        "pistons",
        "published: NAVEDTRA 14075, p. 3-34: burrs taken off with stone and crocus cloth, cleaned, oiled, refitted",
    ),
    ("renew_main_bearings_out", "crank", "re_ring", "pistons", TEXTBOOK),
    ("renew_cam_followers", "crank", "re_ring", "pistons", TEXTBOOK),
    ("renew_piston_pins", "pistons", "re_ring", "pistons", TEXTBOOK),
    ("renew_rod_bearings", "pistons", "remove_refit_pan", "bottom", TEXTBOOK),
    ("renew_oil_pump", "bottom", "remove_refit_pan", "bottom", PRACTICE),
    ("renew_timing_gears", "bottom", "set_timing", "settings", PRACTICE),
    (
        "renew_guides",
        "top",
        "valve_job",
        "top",
        "published: TM 10-3930-243-34: runout of the seat is taken from the guide, so the guide is right first",
    ),
    ("valve_job", "top", "remove_refit_head", "head", TEXTBOOK),
    ("re_ring", "pistons", "remove_refit_head", "head", TEXTBOOK),
    (
        "resurface_head",
        "top",
        "remove_refit_head",
        "head",
        "published: TM 9-4940-549-14P, p. 12-14, step (12): warp is taken out before the head goes on",
    ),
    (
        "resurface_deck",
        "block",
        "remove_refit_head",
        "head",
        "published: TM 9-4940-549-14P, p. 12-14, step (12), taken for the deck",
    ),
    ("remove_refit_head", "head", "renew_push_rod", "gear", TEXTBOOK),
    ("remove_refit_head", "head", "set_valve_clearance", "settings", TEXTBOOK),
    ("remove_refit_head", "head", "set_timing", "settings", PRACTICE),
    ("re_ring", "pistons", "set_timing", "settings", PRACTICE),
    ("service_points", "settings", "set_timing", "settings", PRACTICE),
    ("oil_and_filter", "start", "first_start_run_in", "start", PRACTICE),
    ("first_start_run_in", "start", "renew_head_gasket", "proof", PRACTICE),
    ("renew_head_gasket", "proof", "compression_retest", "proof", PRACTICE),
    ("re_ring", "pistons", "compression_retest", "proof", CFR),
    ("remove_refit_head", "head", "compression_retest", "proof", CFR),
)
"""What comes first, at which stage, and what later; and who says so."""
STEPS = (
    (
        "re_ring",
        "Ridge first",
        "Push each piston out",
        "published: NAVEDTRA 14075, fig. 3-18: a ridge left in breaks rings, so it goes first",
    ),
    (
        "re_ring",
        "Gap each ring",
        "Rings in order",
        "published: TM 10-3930-653-14P, p. 76: gap taken in the bore, before the rings go on",
    ),
    (
        "valve_job",
        "cut seats true",
        "Too wide",
        "published: TM 9-6115-604-34, fig. 9-10, steps (6) to (8): the seat is cut, then narrowed from both sides",
    ),
    ("valve_job", "Measure each stem", "cut seats true", "published: TM 10-3930-243-34: the seat is true to the guide"),
    ("renew_main_bearings_out", "Strip on each main", "End play by dial", PRACTICE),
    ("set_valve_clearance", "Measure and write down", "Inlet", PRACTICE),
)
"""Operation, and two of its steps by what stands in them, the earlier first; and who says so."""
EVERY = 1 if os.environ.get("HOWDEEP_WHOLE") else 4
"""Every fourth open engine; with HOWDEEP_WHOLE=1 every one, which takes some minutes."""


@pytest.fixture(scope="module")
def sheets(shop, assessed):
    """(case, rung) -> sheets, for cases whose engine stands open and every rung that opens one."""
    result, found = {}, 0
    for path in case_files(shipped_cases()):
        job = shop.open_job(path)
        if any(shop.knowledge.observations[name].moment == "teardown" for name in job.values):
            found += 1
            if found % EVERY:
                continue
            answer = assessed[path.stem]
            for rung in RUNGS[RUNGS.index("top_end") : RUNGS.index("replace")]:
                result[path.stem, rung] = sheets_of(shop.knowledge, answer, rung)
    return result


def every_part(sheet):
    """All that is done, from the first bolt out to the last test."""
    return (*sheet.strip, *sheet.parts)


def test_twenty_orders_are_published():
    published = [order for order in (*ORDERS, *STEPS) if order[-1].startswith("published: ")]
    assert len(published) >= 20 and all(
        order[-1].startswith("published: ") or order[-1] == PRACTICE for order in (*ORDERS, *STEPS)
    )


def test_what_comes_first_stands_first_on_every_sheet(sheets):
    assert len(sheets) > 200 // EVERY
    met = dict.fromkeys(ORDERS, 0)
    for where, sheet in sheets.items():
        place = {(part.operation, part.stage): index for index, part in enumerate(every_part(sheet))}
        for order in ORDERS:
            first, early, then, late, _source = order
            if (first, early) in place and (then, late) in place:
                met[order] += 1
                assert place[first, early] < place[then, late], (where, order)
    seen = {order[:4] for order, count in met.items() if count}
    assert len(seen) >= 24, {order[:4] for order in ORDERS} - seen


@pytest.mark.parametrize(("operation", "first", "then", "source"), STEPS)
def test_within_an_operation_the_earlier_step_stands_first(sheets, operation, first, then, source):
    seen = 0
    for sheet in sheets.values():
        texts = [step.text for part in every_part(sheet) if part.operation == operation for step in part.steps]
        if texts:
            seen += 1
            early = next(index for index, text in enumerate(texts) if first in text)
            assert early < next(index for index, text in enumerate(texts) if then in text and index != early)
    assert seen


def test_no_caution_is_told_twice_on_a_sheet_and_each_stands_before_the_work_it_belongs_to(shop, sheets):
    texts = {caution.title: caution.text for caution in shop.knowledge.cautions.values()}
    for where, sheet in sheets.items():
        for head, parts in ((sheet.cautions, sheet.parts), (sheet.strip_cautions, sheet.strip)):
            told = [caution.text for caution in head]
            titles = {caution.mark: caution.title for caution in head}
            for part in parts:
                for caution in part.cautions:
                    told += [caution.text] if caution.text else []
                    assert titles.setdefault(caution.mark, caution.title) == caution.title, where
                    assert caution.text or texts[caution.title] in told, (where, caution)
            assert len(told) == len(set(told)), where


def test_no_caution_of_an_operation_is_left_out(shop, sheets):
    """Each is named at one of its stages at least, whatever stages the caution says it bites at."""
    for where, sheet in sheets.items():
        named: dict[str, set[str]] = {}
        for part in every_part(sheet):
            named.setdefault(part.operation, set()).update(caution.title for caution in part.cautions)
        for name, titles in named.items():
            wanted = {shop.knowledge.cautions[caution].title for caution in shop.knowledge.operations[name].cautions}
            assert titles <= wanted, (where, name)
            lost = {
                caution
                for caution in shop.knowledge.operations[name].cautions
                if shop.knowledge.cautions[caution].title not in titles
            }
            assert all(shop.knowledge.cautions[caution].applies for caution in lost), (where, name, lost)


def test_every_step_of_every_chosen_operation_is_printed_once_and_in_its_order(shop, sheets):
    for where, sheet in sheets.items():
        printed: dict[str, int] = {}
        stages = [STAGES.index(part.stage) for part in every_part(sheet)]
        assert stages == sorted(stages), where
        for part in every_part(sheet):
            printed[part.operation] = printed.get(part.operation, 0) + len(part.steps)
            assert len(part.cautions) <= len(shop.knowledge.operations[part.operation].cautions)
        for name, count in printed.items():
            steps = shop.knowledge.operations[name].steps
            always = sum(step.when is None for step in steps)
            assert always <= count <= len(steps), (where, name)


def test_nothing_is_assembled_by_the_name_of_an_operation():
    text = (Path(__file__).parents[1] / "src" / "howdeep" / "quote" / "sheets.py").read_text(encoding="utf-8")
    assert not any(f'"{word}' in text for word in ("head", "piston", "crank", "valve", "sleeve", "rod"))


def made(stage, steps=4, **more):
    return Operation(
        title="work",
        plain="",
        rung=(Step("rebuild"),),
        hours=1.0,
        stage=stage,
        source=(),
        steps=tuple(WorkStep(f"step {index}") for index in range(steps)),
        **more,
    )


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_whatever_is_chosen_follows_the_order_of_all(data):
    """Orders drawn at random that lead one way: every choice keeps them, also through what is not chosen."""
    names = [f"o{index}" for index in range(8)]
    stages = {name: data.draw(st.sampled_from(STAGES[:3])) for name in names}
    turned = data.draw(st.permutations(names))
    before = {
        name: [
            other
            for other in turned[: turned.index(name)]
            if stages[other] == stages[name] and data.draw(st.booleans())
        ]
        for name in names
    }
    operations = {name: made(stages[name], after={stages[name]: tuple(before[name])}) for name in names}
    chosen = data.draw(st.sets(st.sampled_from(names)))
    order = in_order(operations, chosen)
    assert sorted(name for _, name in order) == sorted(chosen)
    place = {name: index for index, (_, name) in enumerate(order)}
    reach = {name: set(before[name]) for name in names}
    for name in turned:
        reach[name] |= {far for near in before[name] for far in reach[near]}
    for name in chosen:
        assert all(place[other] < place[name] for other in reach[name] & chosen)
    assert [STAGES.index(stage) for stage, _ in order] == sorted(STAGES.index(stage) for stage, _ in order)


def test_steps_are_shared_out_whole():
    parts = steps_by_stage(made("head", 5, begins={"head": 3, "strip": 1, "proof": 5}), {})
    assert parts == {"strip": ("step 0", "step 1"), "head": ("step 2", "step 3"), "proof": ("step 4",)}


def test_operations_that_wait_for_each_other_are_named():
    operations = {"a": made("top", after={"top": ("b",)}), "b": made("top", after={"top": ("a",)})}
    with pytest.raises(HowdeepError, match="wait for each other at the stage 'top': [ab] -> [ab] -> [ab]"):
        in_order(operations, operations)


def test_a_circle_within_a_stage_is_found_by_the_checks(tmp_path):
    from .test_rule_checks import checked

    work = (
        "{{title: {0}, rung: outside, plain: Work, hours: 1, stage: top, after: {{top: [{1}]}}, "
        "source: [{{standing: memory}}]}}"
    )
    overlay = f"charge: {work.format('One', 'swap')}\nswap: {work.format('Two', 'charge')}"
    report = checked(tmp_path, {"operations": overlay}, codes=("stage-order",))
    assert [(item.key, item.code) for item in report.anomalies] == [("operations/charge", "stage-order")]
    assert "wait for each other" in report.anomalies[0].message
