"""What an assessment may not load, and the copy of the rule base that saves reading it anew."""

import dataclasses
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from howdeep.assessment.made_ready import made_ready
from howdeep.beliefs import frame_copy, frames
from howdeep.knowledge import cache
from howdeep.knowledge.cache_codec import from_plain, to_plain
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.model.engine import Engine
from howdeep.model.knowledge import Knowledge
from howdeep.model.prices import PriceList
from howdeep.pricing.read import example_prices, load_prices

from .conftest import SMALL
from .pages import CASE
from .test_imports import imports_of

HEAVY = (
    "matplotlib",
    "flask",
    "waitress",
    "jinja2",
    "pint",
    "scipy",
    "sklearn",
    "pandas",
    "sqlite3",
    "asyncio",
    "clips",
    "pyagrum",
    "multiprocessing.pool",
    "http.server",
)


def test_an_assessment_loads_none_of_the_heavy_modules(tmp_path):
    script = (
        "import sys; from howdeep.cli.main import app\n"
        f"try: app(['assess', {str(CASE)!r}])\n"
        "except SystemExit: pass\n"
        "print('LOADED', *sorted(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=120)
    loaded = set(done.stderr.split("LOADED")[-1].split())
    assert "howdeep.assessment.assess" in loaded and "Advice, not a verdict" in done.stdout
    assert sorted(loaded & set(HEAVY)) == []


def test_with_a_copy_of_the_rule_base_the_validator_is_not_needed_for_it(shipped):
    assert from_plain(Knowledge, to_plain(shipped)) == shipped


def test_a_stale_or_damaged_copy_is_rebuilt_and_never_trusted(tmp_path, monkeypatch):
    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path))
    first = cache.load_cached([SMALL])
    (copy,) = tmp_path.glob("rules-*.json")
    sound = copy.read_bytes()
    for damage in (b"", b"{}", sound[:-40], sound.replace(b"Smoke", b"Smoak"), b"x" * 500, sound + b" "):
        copy.write_bytes(damage)
        assert cache.load_cached([SMALL]) == first
        assert copy.read_bytes() == sound
    copy.unlink()
    assert cache.load_cached([SMALL]) == first


def test_sheets_and_prices_come_back_from_their_copies_as_they_were(tmp_path, monkeypatch, shipped):
    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path))
    paths = [find(name, [shipped_rules()]) for name in sheet_ids([shipped_rules()])]
    first = [load_engine(path) for path in paths]
    prices = load_prices(example_prices(), shipped)
    assert len(list(tmp_path.glob("engine-*.json"))) == len(paths) and len(list(tmp_path.glob("prices-*.json"))) == 1
    assert all(from_plain(Engine, to_plain(engine)) == engine for engine in first)
    assert from_plain(PriceList, to_plain(prices)) == prices
    monkeypatch.setattr("howdeep.knowledge.engines.typed", None)  # from the copies: nothing is read or checked again
    monkeypatch.setattr("howdeep.pricing.read.typed", None)
    assert [load_engine(path) for path in paths] == first
    assert load_prices(example_prices(), shipped) == prices


def test_a_damaged_copy_of_a_sheet_is_read_anew(tmp_path, monkeypatch):
    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path))
    path = find("brockwell-4", [shipped_rules()])
    first = load_engine(path)
    (copy,) = tmp_path.glob("engine-*.json")
    sound = copy.read_bytes()
    for damage in (b"", sound[:-9], sound.replace(b"petrol", b"diesel"), b"[]"):
        copy.write_bytes(damage)
        assert load_engine(path) == first
        assert copy.read_bytes() == sound


def test_a_price_list_is_read_anew_for_other_rules(tmp_path, monkeypatch, shipped):
    import dataclasses

    import pytest

    from howdeep.errors import HowdeepError

    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path))
    load_prices(example_prices(), shipped)
    fewer = dataclasses.replace(shipped, parts={}, version="another")
    with pytest.raises(HowdeepError) as error:
        load_prices(example_prices(), fewer)
    assert any("there is no part" in str(fault) for fault in error.value.faults)


def test_garbage_is_collected_again_in_commands_that_last():
    script = (
        "import gc, sys; from howdeep.cli.main import main\n"
        "import howdeep.cli.main as cli\n"
        "cli.app.command('lasting')(lambda: print('collects', gc.isenabled()))\n"
        "sys.argv = ['howdeep', 'lasting']\n"
        "main()"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60)
    assert done.stdout.strip() == "collects True", done.stderr


def test_a_changed_rule_file_gets_a_new_copy(tmp_path, monkeypatch):
    import shutil

    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path / "cache"))
    rules = tmp_path / "rules"
    shutil.copytree(SMALL, rules)
    before = cache.load_cached([rules])
    path = rules / "observations.yaml"
    path.write_text(path.read_text().replace("title: Smoke,", "title: Smoke seen,"))
    assert cache.load_cached([rules]).observations["smoke"].title == "Smoke seen" != before.observations["smoke"].title


def test_a_folder_that_cannot_be_written_only_costs_time(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path / "file" / "below"))
    assert cache.load_cached([SMALL]).observations


def test_the_shipped_folder_has_one_key_for_the_same_bytes():
    assert cache.key_of([shipped_rules()]) == cache.key_of([shipped_rules()])


def same(one, other):
    """Whether two networks are the same to the last bit."""
    if isinstance(one, np.ndarray) or isinstance(other, np.ndarray):
        return one.dtype == other.dtype and one.shape == other.shape and one.tobytes() == other.tobytes()
    if dataclasses.is_dataclass(one):
        names = [item.name for item in dataclasses.fields(one)]
        return type(one) is type(other) and all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and one == other


def test_a_network_comes_back_from_its_copy_to_the_last_bit(tmp_path, monkeypatch, engines):
    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path))
    knowledge = cache.load_cached([shipped_rules()])
    built = {name: frames._frame(knowledge, engine_facts(engine)) for name, engine in list(engines.items())[::2]}
    for name, network in built.items():
        assert same(frame_copy.from_plain(json.loads(json.dumps(frame_copy.to_plain(network)))), network)
        made_ready(knowledge, engines[name])
    copies = sorted(tmp_path.glob("network-*.json"))
    assert len(copies) == len(built)
    sound = copies[0].read_bytes()
    copies[0].write_bytes(sound[:-30])  # one damaged: it alone is made anew
    again, made, make = replace(knowledge), [], frames._frame
    cache.same_content(again, knowledge, ())
    monkeypatch.setattr(frames, "_frame", lambda *given: made.append(given) or make(*given))
    for name, network in built.items():
        made_ready(again, engines[name])
        assert same(frames.frame_of(again, engine_facts(engines[name])), network)
    assert copies[0].read_bytes() == sound and len(made) <= 1


def test_a_rule_base_that_was_changed_in_memory_gets_no_network_of_another(tmp_path, monkeypatch, engines):
    monkeypatch.setenv("HOWDEEP_CACHE", str(tmp_path))
    knowledge = cache.load_cached([shipped_rules()])
    engine = engines["pell-1"]
    made_ready(knowledge, engine)
    settings = replace(knowledge.settings, slight_share=knowledge.settings.slight_share / 2)
    changed = replace(knowledge, settings=settings)
    assert cache.content_of(changed) is None and cache.content_of(knowledge)
    made_ready(changed, engine)
    facts = engine_facts(engine)
    assert same(frames.frame_of(changed, facts), frames._frame(changed, facts))
    assert not same(frames.frame_of(changed, facts), frames.frame_of(knowledge, facts))
    assert len(list(tmp_path.glob("network-*.json"))) == 1


def test_every_module_that_makes_a_network_is_part_of_the_key_of_its_copy():
    package = Path(frames.__file__).parents[1]
    waiting, met = ["howdeep.beliefs.frame_copy", "howdeep.beliefs.frames"], set()
    while waiting:
        module = waiting.pop()
        if module in met:
            continue
        met.add(module)
        path = package.parent.joinpath(*module.split(".")).with_suffix(".py")
        for _, name in imports_of(path.read_text(encoding="utf-8"), module, is_package=False):
            found = name if (package.parent / f"{name.replace('.', '/')}.py").is_file() else name.rpartition(".")[0]
            if (package.parent / f"{found.replace('.', '/')}.py").is_file():
                waiting.append(found)
    parts = {f"{name.removeprefix('howdeep.').replace('.', '/')}.py" for name in met}
    assert sorted(parts - {*frame_copy.MADE_BY, *cache.SHAPED_BY} - SHAPE_NO_VALUE) == []
    assert set(frame_copy.MADE_BY) <= parts


SHAPE_NO_VALUE = {"arrays.py", "errors.py"}
"""Names of types, and how faults are told."""
