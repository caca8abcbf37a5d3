"""Mistakes that a mechanic would make in his own rules are named at their line; what is no mistake is let be.

The whole list is counted by `python -m bench.overlay_mistakes`; here every sixth of it, with the quick checks.
"""

import sys

import pytest
import yaml

from howdeep.errors import HowdeepError
from howdeep.knowledge.load import load
from howdeep.rulecheck import replaced, said
from howdeep.rulecheck.base import Check

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
from overlay_mistakes import HERE, as_text, mistakes, named, shipped_entry

SEEDED = ROOT / "tests" / "seeded_rules"
QUICK = [
    check.code
    for module in (replaced, said)
    for check in vars(module).values()
    if isinstance(check, type) and issubclass(check, Check) and check is not Check
]
QUICK += ["never-holds", "impossible-answer", "unreachable-cause"]
EVERY = list(mistakes())


def test_the_list_has_sixty_mistakes_each_with_its_place():
    assert len(EVERY) == 60 == len(yaml.safe_load(HERE.read_text(encoding="utf-8")))
    assert all(item.line >= 1 and item.file in item.files for item in EVERY)


@pytest.mark.parametrize("item", EVERY[3::6], ids=lambda item: item.slip)
def test_a_mistake_is_named_at_its_file_and_line(item):
    found = named(item.files, QUICK)
    assert any(item.is_at(file, line) for file, line, _ in found), found


def test_shipped_entries_laid_over_themselves_are_no_mistake():
    keys = (
        "limits/compression_low_percent",
        "operations/re_ring",
        "operations/first_start_run_in",
        "observations/compression_dry",
        "findings/plug_wet_coolant",
        "findings/compression_high",
        "causes/worn_rings",
        "holds/weak_battery_looks_like_a_tired_engine",
        "history/overheated_badly",
        "cautions/spinning_parts",
    )
    files = {"settings": as_text(shipped_entry("settings"))}
    for key in keys:
        kind, name = key.split("/")
        files[kind] = files.get(kind, "") + as_text({name: shipped_entry(key)})
    assert named(files, QUICK) == []


def loaded(tmp_path, **files):
    for name, text in files.items():
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    return load([SEEDED, tmp_path])


SETTINGS = yaml.safe_load((SEEDED / "settings.yaml").read_text(encoding="utf-8"))


def settings(**changes):
    plain = {**SETTINGS, **{key: value for key, value in changes.items() if not isinstance(value, dict)}}
    for key, value in changes.items():
        if isinstance(value, dict):
            plain[key] = {**SETTINGS.get(key, {}), **value}
    return yaml.safe_dump(plain, sort_keys=False)


@pytest.mark.parametrize(
    ("changes", "said_"),
    [
        ({"words": {"never": 0}}, "words.never is 0"),
        ({"words": {"rarely": 0.3}}, "'rarely' must stay below"),
        ({"words": {"usually": 80}}, "words.usually is 80"),
        ({"base_words": {"rare": 0.05}}, "'rare' must stay below"),
        ({"misread": {"instrument": 0.06}}, "must not stand above"),
        ({"include_at": 35}, "include_at is 35"),
        ({"sure": {"words.nevver": "a slip"}}, "is no figure of this rule base"),
    ],
)
def test_what_settings_cannot_be_is_refused_at_its_line(tmp_path, changes, said_):
    text = settings(**changes)
    with pytest.raises(HowdeepError, match=said_) as told:
        loaded(tmp_path, settings=text)
    fault = told.value.faults[0]
    assert fault.file.endswith("settings.yaml") and fault.line > 1


def test_what_settings_can_hardly_be_is_questioned_and_settled_by_a_word(tmp_path):
    asked = loaded(tmp_path, settings=settings(misread={"word": 0.25}))
    assert [(item.key, item.path, item.excused) for item in asked.doubts] == [("settings", ("misread", "word"), False)]
    sure = loaded(tmp_path, settings=settings(misread={"word": 0.25}, sure={"misread.word": "they all say what suits"}))
    assert sure.doubts == () and sure.settings.sure


RINGS = (
    "re_ring: {{title: Fit new rings, plain: New rings, rung: refresh, hours: {hours}, stage: gear, "
    "parts: {{ring_set: each cylinder}}, during: [bore_seen], source: [{{standing: judgement}}]{more}}}\n"
)


def test_hours_below_nothing_are_refused_and_far_ones_questioned(tmp_path):
    with pytest.raises(HowdeepError, match=r"operations.yaml:1:\d+: operations.re_ring.hours is -1.5"):
        loaded(tmp_path, operations=RINGS.format(hours=-1.5, more=""))
    (doubt,) = loaded(tmp_path, operations=RINGS.format(hours=90, more="")).doubts
    assert doubt.line == 1 and "decimal point" in doubt.hint and not doubt.excused
    more = ", excuse: {unlikely-figure: two old men and no hoist}"
    assert [item.excused for item in loaded(tmp_path, operations=RINGS.format(hours=90, more=more)).doubts] == [True]
    assert loaded(tmp_path, operations=RINGS.format(hours=12, more="")).doubts == ()


def test_of_two_limits_out_of_order_the_one_that_the_shop_changed_is_told(tmp_path):
    text = as_text({"end_play_high": {**shipped_entry("limits/end_play_high"), "value": 0.0015}})
    (found,) = {
        (file, line) for file, line, told in named({"limits": text}, ["unlikely-figure"]) if "end_play_low" in told
    }
    assert found == ("limits", 3)
