"""What an assessment may not load, and the copy of the rule base that saves reading it anew."""

import subprocess
import sys

from howdeep.knowledge import cache
from howdeep.knowledge.as_plain import from_plain, to_plain
from howdeep.knowledge.where import shipped_rules

from .conftest import SMALL
from .pages import CASE

HEAVY = ("matplotlib", "flask", "waitress", "jinja2", "pint", "scipy", "sklearn", "pandas", "sqlite3", "asyncio", "clips",
         "pyagrum", "multiprocessing.pool", "http.server")


def test_an_assessment_loads_none_of_the_heavy_modules(tmp_path):
    script = ("import sys; from howdeep.cli import app\n"
              f"try: app(['assess', {str(CASE)!r}])\n"
              "except SystemExit: pass\n"
              "print('LOADED', *sorted(sys.modules), file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=120)
    loaded = set(done.stderr.split("LOADED")[-1].split())
    assert "howdeep.assess" in loaded and "HOW DEEP" in done.stdout
    assert sorted(loaded & set(HEAVY)) == []


def test_with_a_copy_of_the_rule_base_the_validator_is_not_needed_for_it(shipped):
    assert from_plain(to_plain(shipped)) == shipped


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
