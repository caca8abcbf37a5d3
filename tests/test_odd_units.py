"""An odd unit is told wherever a figure with a unit is read: its place, the value, the nearest right spelling, code 2.

One figure at a time in copies of the general limits, an engine sheet, a job and a price list gets a misspelt unit, one
of another kind or rubbish; never is it passed over, never does it end as a fault of the program.
"""

import random
import re

import pytest

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import parse, read
from howdeep.job.read import open_text
from howdeep.knowledge.engines import check_sheet, find, sheet_ids
from howdeep.knowledge.load import load
from howdeep.knowledge.plausible import plausible_table
from howdeep.knowledge.sheet_form import sheet_form
from howdeep.knowledge.sheet_guard import NO_FIGURES
from howdeep.knowledge.where import shipped_rules
from howdeep.model.quantity import _SPELLINGS, DIMENSION, UNITS
from howdeep.pricing.read import example_prices, load_prices

from .commands import howdeep
from .pages import CASE

WITH_UNIT = re.compile(r"[-+]?[\d.]+(?:[ -]\d+/\d+|/\d+)?\s*(?P<unit>[A-Za-z%][A-Za-z0-9%/-]*)(?=[\"',}\]\s]|$)")
KNOWN = {spelling.lower() for spelling in (*_SPELLINGS, *DIMENSION)}


def odd_units(unit, draw):
    """(unit, whether it is a misspelling): a letter twice, one of another kind, and rubbish."""
    kind = DIMENSION[_SPELLINGS.get(unit.lower(), unit)]
    twice = draw.randrange(len(unit))
    misspelt = unit[: twice + 1] + unit[twice:]
    other = draw.choice([one for name, units in UNITS.items() for one in units if one and name != kind])
    return [
        (odd, sort)
        for odd, sort in ((misspelt, True), (other, False), ("furlongs", False), ("q" * 300, False))
        if odd.lower() not in KNOWN or not sort
    ]


def figures_of(document):
    """(line, column of the value, span of its unit in the line) of every figure with a unit, at the value's place."""
    lines = document.text.splitlines()
    for line, column in sorted(
        {
            place
            for path, place in document.places.items()
            if path and path[0] not in NO_FIGURES and (path[0], path[-1]) != ("torques", "size")
        }
    ):  # a thread is named, not measured
        row = lines[line - 1]
        start = column - 1 + (row[column - 1 : column] in ("'", '"'))
        if (match := WITH_UNIT.match(row, start)) and match["unit"].lower() in KNOWN:
            yield line, column, match.span("unit"), match["unit"]


def with_odd(text, line, span, odd):
    lines = text.splitlines()
    lines[line - 1] = lines[line - 1][: span[0]] + odd + lines[line - 1][span[1] :]
    return "\n".join(lines) + "\n"


def told(error, line, column, odd, unit, misspelt):
    """The one fault stands at the value, names it and says what could be meant."""
    (fault,) = error.value.faults
    said = str(fault)
    assert (fault.line, fault.column) == (line, column), said
    assert odd in said or (odd[:40] in said and len(said) < 700), said
    right = _SPELLINGS.get(unit.lower(), unit)
    assert (
        ("did you mean" in said and right in said)
        if misspelt
        else re.search("use |write |did you mean|is wanted|known: |write it", said)
    ), said


def test_in_an_engine_sheet():
    table, draw, tried = plausible_table(), random.Random("sheet"), 0
    for name in sheet_ids([shipped_rules()]):
        document = read(find(name, [shipped_rules()]))
        for line, column, span, unit in list(figures_of(document))[::3]:
            for odd, misspelt in odd_units(unit, draw):
                wrong = with_odd(document.text, line, span, odd)
                with pytest.raises(HowdeepError) as error:
                    check_sheet(parse(wrong, "sheet.yaml"), table)
                    pytest.fail(f"{name}: {wrong.splitlines()[line - 1]}")
                told(error, line, column, odd, unit, misspelt)
                tried += 1
    assert tried > 200


JOB = """\
howdeep_job: 1
engine: brockwell-4
place: {altitude: 1200 ft, air_temperature: 60 degF}
readings:
  compression_dry: {1: 48 psi, 2: 50 psi, 3: 46 psi, 4: 3.4 bar}
  vacuum_level: 15 inHg
  leakage: {1: 12 percent, 2: 15 %, 3: 80/62, 4: unknown}
  battery_rest: 12.4 V
  oil_pressure_idle: 20 psi
teardown:
  end_play_measured: 0.004 in
  crank_bend_measured: 1 1/2 thou
  bore_size:
    1: {top: [3.4380 in, 3.4385 in], middle: [3.4378 in, 3.4380 in], bottom: [3.4375 in, 3.4376 in]}
  ring_gap_measured: [0.014 in, 0.38 mm, 0.015 in, 0.016 in]
"""


def test_in_a_job(shop):
    draw, tried = random.Random("job"), 0
    document = parse(JOB, "job.yaml")

    def opened(text):
        return open_text(text, "job.yaml", CASE.parent, shop.knowledge, shop.folders)

    assert len(opened(JOB).values) == 9
    found = list(figures_of(document))
    assert len(found) == 23, found
    for line, column, span, unit in found:
        for odd, misspelt in odd_units(unit, draw):
            with pytest.raises(HowdeepError) as error:
                opened(with_odd(JOB, line, span, odd))
            told(error, line, column, odd, unit, misspelt)
            tried += 1
    assert tried > 70


@pytest.mark.parametrize("seed", range(3))
def test_in_general_limits_laid_over(shop, tmp_path, seed):
    """Each limit with an odd unit of its own, and each is told at its place in one go."""
    draw, wanted = random.Random(seed), {}
    for source in [shipped_rules() / "limits.yaml", *sorted((shipped_rules() / "limits").glob("*.yaml"))]:
        document = read(source)
        lines = document.text.splitlines()
        target = tmp_path / source.relative_to(shipped_rules())
        target.parent.mkdir(exist_ok=True)
        for name, entry in document.value.items():
            line, column = document.places[(name, "unit")]
            odd, misspelt = draw.choice(odd_units(entry["unit"], draw)) if entry["unit"] else ("furlongs", False)
            lines[line - 1] = f"{lines[line - 1][: column - 1]}{odd}"
            wanted[f"{target}:{line}:{column}"] = (odd, entry["unit"] if misspelt else "")
        target.write_text("\n".join(lines) + "\n")
    with pytest.raises(HowdeepError) as error:
        load([shipped_rules(), tmp_path])
    found = {f"{fault.file}:{fault.line}:{fault.column}": fault for fault in error.value.faults}
    assert found.keys() == wanted.keys() and len(found) > 80
    for place, (odd, right) in wanted.items():
        assert odd in found[place].message and found[place].hint, found[place]
        if right:
            assert "did you mean" in found[place].hint and right in found[place].hint, found[place]


def test_a_limit_in_another_unit_of_its_kind_judges_as_before(shop, tmp_path):
    """Laid over in millimetres, kilopascals and so on, every limit is the same limit."""
    other = {
        "in": "mm",
        "psi": "kPa",
        "inHg": "kPa",
        "inH2O": "Pa",
        "V": "mV",
        "h": "min",
        "min": "s",
        "ft3/h": "L/min",
    }
    plain = []
    for name, limit in shop.knowledge.limits.items():
        if limit.unit in other:
            factor = [UNITS[DIMENSION[limit.unit]][unit][0] for unit in (limit.unit, other[limit.unit])]
            per = f"\n  per: {limit.per}" if limit.per else ""
            plain.append(
                f"{name}:\n  title: The same\n  value: {limit.value * factor[0] / factor[1]:.12g}\n"
                f"  unit: {other[limit.unit]}{per}\n  source: [{{standing: judgement}}]\n"
            )
    (tmp_path / "limits.yaml").write_text("".join(plain))
    metric = load([shipped_rules(), tmp_path]).limits
    assert len(plain) > 60
    for name, limit in shop.knowledge.limits.items():
        assert metric[name].unit == limit.unit
        assert metric[name].value == pytest.approx(limit.value, rel=1e-9)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("per: inch of boer", "did you mean inch of bore?"),
        ("", "write per: inch of bore"),
        ("per: 1000 m", "counted per 'inch of bore'"),
    ],
)
def test_what_a_limit_is_counted_for_is_that_of_the_limit_replaced(tmp_path, wrong, said):
    (tmp_path / "limits.yaml").write_text(
        f"ring_gap_per_inch:\n  title: Mine\n  value: 0.004\n  unit: in\n  source: [{{standing: judgement}}]\n"
        f"  {wrong}\n"
    )
    with pytest.raises(HowdeepError, match="limits.yaml:") as error:
        load([shipped_rules(), tmp_path])
    assert said in str(error.value)


@pytest.mark.parametrize(("unit", "said"), [("inn", "did you mean in"), ("psi", "a figure it guards is a length")])
def test_in_the_plausible_figures(tmp_path, unit, said):
    (tmp_path / "plausible.yaml").write_text(
        f"bore_size:\n  title: The bore\n  figures: [bore.low]\n  unit: {unit}\n  most: 6\n  because: Mine.\n"
        "  source: [{standing: judgement}]\n"
    )
    with pytest.raises(HowdeepError) as error:
        plausible_table([tmp_path])
    assert "plausible.yaml:4:9" in str(error.value) and said in str(error.value)


@pytest.mark.parametrize(("unit", "said"), [("inn", "did you mean in"), ("furlong", "known: in, ")])
def test_in_the_form_of_a_sheet(tmp_path, unit, said):
    (tmp_path / "sheet_form.yaml").write_text(
        "mine:\n  title: Mine\n  about: Mine.\n  fields:\n    pin_clearance:\n      label: Pin\n      title: Pin\n"
        f"      purpose: Mine.\n      kind: band\n      unit: {unit}\n"
    )
    with pytest.raises(HowdeepError) as error:
        sheet_form([tmp_path])
    assert f"sheet_form.yaml:10:13: '{unit}' is not a unit known here" in str(error.value) and said in str(error.value)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("look_credit_percent: 50 %", "'50 %' is not a percentage"),
        ("look_credit_percent: '150'", "more than 100"),
        ("look_inside: {top_end: '340,00'}", "'340,00' is not a price"),
        ("wait_up_to: free", "'free' is not a price"),
        ("promise_floor: 70", "write 0.7 for 70 percent"),
        ("firm_floor: -0.1", "'-0.1' is not a chance"),
        ("promise_floor: 70 %", "write 70, a number alone"),
        ("valid_days: 30 days", "write 30, a number alone"),
    ],
)
def test_what_a_price_list_says_of_looks_and_floors_is_checked_when_it_is_read(shop, tmp_path, line, said):
    field = line.split(":")[0]
    path = tmp_path / "shop.yaml"
    path.write_text(re.sub(rf"^{field}:.*\n", "", example_prices().read_text(), flags=re.MULTILINE) + line + "\n")
    with pytest.raises(HowdeepError) as error:
        load_prices(path, shop.knowledge)
    assert said in str(error.value) and f"{path}:{len(path.read_text().splitlines())}:" in str(error.value)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("6 hrs", "did you mean h"),
        ("90 min", "write 1.5"),
        ("6 h", "write 6"),
        ("six", "a number of hours alone"),
        ("2,5", "a number of hours alone"),
        ("3 in", "is a length; a time is wanted"),
    ],
)
def test_in_the_hours_of_a_price_list(shop, tmp_path, typed, said):
    text = re.sub(r"^hours:.*?^(?=\S)", "", example_prices().read_text(), flags=re.MULTILINE | re.DOTALL)
    path = tmp_path / "shop.yaml"
    path.write_text(f'{text}hours:\n  valve_job: "{typed}"\n')
    with pytest.raises(HowdeepError) as error:
        load_prices(path, shop.knowledge)
    line = len(path.read_text().splitlines())
    assert f"{path}:{line}:14: '{typed}'" in str(error.value) and said in str(error.value)


@pytest.mark.parametrize(
    "field",
    [
        "labour_rate",
        "comeback_charge",
        "supplies_percent",
        "tax_percent",
        "growth_factor",
        "valid_days",
        "promise_floor",
        "firm_floor",
        "look_credit_percent",
    ],
)
def test_in_every_other_figure_of_a_price_list(shop, tmp_path, field):
    text = re.sub(rf"^{field}:.*\n", "", example_prices().read_text(), flags=re.MULTILINE)
    path = tmp_path / "shop.yaml"
    path.write_text(f"{text}{field}: 7 furlongs\n")
    with pytest.raises(HowdeepError) as error:
        load_prices(path, shop.knowledge)
    line = len(path.read_text().splitlines())
    assert f"{path}:{line}:{len(field) + 3}: '7 furlongs'" in str(error.value)


@pytest.mark.parametrize("kind", ["job", "sheet", "limits", "prices"])
def test_the_command_ends_with_code_2_and_the_place(tmp_path, kind):
    job, rules, words = tmp_path / "job.yaml", tmp_path / "rules", ()
    job.write_text(JOB)
    rules.mkdir()
    if kind == "job":
        job.write_text(JOB.replace("0.004 in", "0.004 inn"))
    elif kind == "sheet":
        (tmp_path / "own.yaml").write_text(
            (shipped_rules() / "engines" / "brockwell-4.yaml").read_text().replace(" in}", " inn}", 1)
        )
        job.write_text(JOB.replace("brockwell-4", "own.yaml"))
    elif kind == "limits":
        text = (shipped_rules() / "limits.yaml").read_text()
        (rules / "limits.yaml").write_text(text.replace("unit: in\n", "unit: inn\n", 1))
        words = ("--rules", rules)
    else:
        (tmp_path / "prices.yaml").write_text(example_prices().read_text() + "hours: {valve_job: 6 inn}\n")
    done = howdeep("assess", job, *words)
    assert done.returncode == 2 and done.stdout == "", done.stderr
    assert re.search(r"\.yaml:\d+:\d+: .*inn.*(did you mean|is wanted|use |alone)", done.stderr), done.stderr
