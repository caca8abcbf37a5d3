"""How commands end: a user's error is never called a defect, nothing hangs, and a lost output is said or forgiven."""

import contextlib
import copy
import functools
import io
import os
import stat
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from howdeep.cli.exit_codes import run
from howdeep.cli.main import app
from howdeep.errors import MOST_FAULTS, HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.files.strict_yaml import read
from howdeep.knowledge.where import shipped_rules
from howdeep.model.quantity import QuantityError
from howdeep.model.quantity import parse as parse_quantity
from howdeep.quote.build import build_quote
from howdeep.quote.promise import promise_of

from .pages import CASE
from .sampling import some

PROGRAM = [sys.executable, "-c", "from howdeep.cli.main import main; main()"]


def ended(*words):
    """Exit code and standard error of a command run in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(lambda: app(args=[str(word) for word in words]))
    return code, err.getvalue()


@contextlib.contextmanager
def as_nobody():
    """Without the rights of the administrator, who may read everything."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


ODD = [
    "about five hundred",
    "-5",
    -5,
    7.5,
    "9" * 400 + "/3",
    "1/" + "9" * 5000,
    "3 furlong",
    "3 psi",
    "3 in",
    "NaN",
    "1e999",
    "",
    None,
    True,
    [],
    {},
    ["x"],
    {"a": 1},
    "refrsh",
    "a\0b.yaml",
    "x" * 5000 + ".yaml",
    "../x.yaml",
    "1e308 ft",
    "0",
    "1e999999999",
    "12:30",
    10**30,
    "\u2028",
    "job.yaml",
    "/dev/zero",
]


@pytest.fixture(scope="module")
def whole_job(shop):
    """A job with everything that a job can hold, and its engine sheet."""
    plain = read(CASE).value
    plain.pop("expect")
    plain["customer"] = {"name": "A", "words": "b", "machine": "c", "value_running": "300.00"}
    plain["place"] = {"altitude": "900 ft", "air_temperature": "60 degF"}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(dump(plain))
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    quote = build_quote(shop.knowledge, answer, shop.prices, None)
    plain["promises"] = {"p1": promise_of(shop.knowledge, answer, quote, "2026-01-01")}
    plain["approvals"] = [{"date": "2026-01-01", "by": "A", "sum": "1250.00", "how": "telephone"}]
    plain["found"] = {
        "date": "2026-02-03",
        "scope_done": "refresh",
        "came_back": "no",
        "hours": 3.5,
        "cost": "500.00",
        "causes": {"worn_rings": "present"},
    }
    return plain, read(shipped_rules() / "engines" / f"{plain['engine']}.yaml").value


def places(value, path=()):
    if path:
        yield path
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in parts:
        yield from places(item, (*path, key))


def with_value(value, path, new):
    value = copy.deepcopy(value)
    part = value
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = new
    return value


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_one_odd_value_in_a_job_or_its_engine_sheet_is_never_called_a_defect(data, whole_job, shop, tmp_path_factory):
    job, engine = whole_job
    folder = tmp_path_factory.mktemp("odd")
    which = data.draw(st.sampled_from(["job", "top", "sheet"]))
    among = [path for path in places(engine if which == "sheet" else job) if which != "top" or len(path) < 4]
    path, odd = data.draw(st.sampled_from(among)), data.draw(st.sampled_from(ODD))
    if which == "sheet":
        (folder / "own.yaml").write_text(dump(with_value(engine, path, odd)))
        job = {**job, "engine": "own.yaml"}
    else:
        job = with_value(job, path, odd)
    (folder / "job.yaml").write_text(dump(job))
    for words in (
        ("promise", "changes", folder / "job.yaml", "p1"),
        ("sheet", "assembly", folder / "job.yaml"),
        ("record", folder),
    ):
        code, err = ended(*words)
        assert code in (0, 1, 2), (path, odd, err)
        assert "internal fault" not in err


@pytest.mark.parametrize("text", ["9" * 400 + "/3", "1/" + "9" * 400, "1 " + "9" * 5000 + "/2", "9" * 5000 + " in"])
def test_hundreds_of_digits_are_no_quantity_or_a_number(text):
    with contextlib.suppress(QuantityError):
        assert abs(parse_quantity(text, unit="in", bare=True).value) < 1


def test_a_control_character_is_refused_also_where_it_is_written_as_an_escape(tmp_path):
    path = tmp_path / "job.yaml"
    for bad in ("\\0", "\\x07", "\\ud800"):
        path.write_text(f'howdeep_job: 1\nengine: "a{bad}.yaml"\n')
        code, err = ended("assess", path)
        assert code == 2 and "job.yaml:2:" in err and ("control character" in err or "invalid Unicode" in err), err


@pytest.mark.parametrize("command", ["assess", "why", "quote", "sheet assembly", "close", "interview"])
def test_a_pipe_a_folder_a_device_and_a_circle_of_links_are_refused_at_once(tmp_path, command):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to("circle")
    for path in (
        tmp_path / "pipe",
        tmp_path,
        Path("/dev/zero"),
        *([] if command == "interview" else [tmp_path / "circle"]),
    ):
        start = time.process_time()
        code, err = ended(*command.split(), path)
        assert code == 2 and err.startswith(f"howdeep: {path}"), (path, err)
        assert time.process_time() - start < 5


def test_a_pipe_as_price_list_or_engine_sheet_is_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "own.yaml")
    (tmp_path / "job.yaml").write_text("howdeep_job: 1\nengine: own.yaml\n")
    code, err = ended("assess", tmp_path / "job.yaml")
    assert code == 2 and "own.yaml" in err
    code, err = ended("quote", CASE, "--prices", tmp_path / "own.yaml")
    assert code == 2 and "own.yaml" in err


def test_files_and_folders_that_may_not_be_read_are_named():
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        assert ended("record", folder)[0] == 0  # loads what nobody may not
        (folder / "shut").mkdir(mode=0o000)
        (folder / "job.yaml").write_text(CASE.read_text())
        (folder / "job.yaml").chmod(0o000)
        with as_nobody():
            code, err = ended("assess", folder / "job.yaml")
            assert code == 2 and "job.yaml: cannot be read" in err
            code, err = ended("assess", folder / "shut" / "job.yaml")
            assert code == 2 and "shut" in err
            out = io.StringIO()
            with contextlib.redirect_stdout(out):
                code = run(lambda: app(args=["record", str(folder)]))
            shown = "".join(out.getvalue().split())
            assert code == 1 and "shut:cannotberead" in shown and "job.yaml:cannotberead" in shown
        (folder / "shut").chmod(stat.S_IRWXU)


def test_a_full_or_closed_output_is_said_and_a_reader_that_left_is_forgiven():
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*PROGRAM, "assess", str(CASE)], stdout=full, stderr=subprocess.PIPE, text=True, timeout=120
        )
    assert done.returncode == 2 and done.stderr.splitlines() == [
        "howdeep: the output cannot be written: No space left on device"
    ]
    shell = f'"{sys.executable}" -c "from howdeep.cli.main import main; main()" assess "{CASE}"'
    done = subprocess.run(["sh", "-c", f"{shell} >&-"], stderr=subprocess.PIPE, text=True, timeout=120)
    assert done.returncode == 2 and "the output cannot be written" in done.stderr
    for words in some((("assess", str(CASE)), ("rules", "show", "worn_rings"), ("assess", str(CASE), "--json")), 3):
        reader, writer = os.pipe()
        os.close(reader)
        done = subprocess.run([*PROGRAM, *words], stdout=writer, stderr=subprocess.PIPE, text=True, timeout=120)
        os.close(writer)
        assert (done.returncode, done.stderr) == (0, "")


def calls_of(act):
    """How many functions are called on the way: what it costs, the same on every machine."""
    made = 0

    def count(_frame, event, _called):
        nonlocal made
        made += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        act()
    finally:
        sys.setprofile(before)
    return made


@pytest.mark.parametrize("where", ["top", "answers", "causes", "cylinders", "waived", "customer", "promises", "twice"])
def test_an_unknown_key_costs_the_same_however_many_there_are(where, shop, tmp_path):
    heads = {
        "top": "",
        "answers": "answers:\n",
        "causes": "found:\n  date: 2026-01-01\n  causes:\n",
        "cylinders": "readings:\n  compression_dry:\n",
        "waived": "waived:\n",
        "customer": "customer:\n",
        "promises": "promises:\n",
        "twice": "",
    }
    indent = "" if where in ("top", "twice") else "    "
    name = "" if where == "cylinders" else "k"

    def refused(keys):
        path = tmp_path / "job.yaml"
        path.write_text(
            "howdeep_job: 1\nengine: tarn-30\n"
            + heads[where]
            + "".join(f"{indent}{name}{key % 9 if where == 'twice' else key + 100}: x\n" for key in range(keys))
        )
        with pytest.raises(HowdeepError) as told:
            shop.open_job(path)
        return told

    refused(100)  # what is made ready once
    few, many = (calls_of(functools.partial(refused, keys)) for keys in (4_000, 12_000))
    assert many - few <= 60 * 8_000
    caught = refused(65_000)
    assert 50 <= len(caught.value.faults) <= 2 * MOST_FAULTS + 2
    assert any("more faults" in fault.message for fault in caught.value.faults)
