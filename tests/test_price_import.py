"""A table of prices from elsewhere: read forgivingly, matched openly, and nothing written that is not sure."""

import csv
import io
import random
import re
import string
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.pricing.csv_import import table_of
from howdeep.pricing.matching import Names, matched
from howdeep.pricing.read import example_prices, load_prices
from howdeep.pricing.typed import NoPrice, Unclear, Way, typed_price, way_of
from howdeep.pricing.write import Figure, new_list, put_figures

from .commands import howdeep

MINE = """\
name: Our prices
date: 2026-11-01
currency: USD
labour_rate: "80.00"
comeback_charge: "100.00"
parts:
  # what we pay, less ten
  head_gasket: {figure: "48.00", example: true}  # see shelf 3
  piston: "88.00"
machine: {grind_valve: "10.00"}
"""


@pytest.fixture
def mine(tmp_path):
    path = tmp_path / "prices.yaml"
    path.write_text(MINE)
    return path


def rows(text, currency="USD", **more):
    raw = text if isinstance(text, bytes) else text.encode()
    return table_of(raw, "x.csv", currency, **more)


# --- figures ---


@pytest.mark.parametrize(
    ("typed", "price"),
    [
        ("12.50", "12.50"),
        ("12,50", "12.50"),
        ("1,234.50", "1234.50"),
        ("1.234,50", "1234.50"),
        ("1 234,50", "1234.50"),
        ("1\u00a0234,50", "1234.50"),
        ("1'234.50", "1234.50"),
        ("$12.50", "12.50"),
        ("12.50 $", "12.50"),
        ("USD 12.50", "12.50"),
        ("12.50 usd", "12.50"),
        ("US$ 12", "12.00"),
        ("12.-", "12.00"),
        ("12,--", "12.00"),
        ("12.50 each", "12.50"),
        ("$12.50/ea", "12.50"),
        ("12.5", "12.50"),
        (".50", "0.50"),
        ("1,234,567.89", "1234567.89"),
        ("+12", "12.00"),
        ("0,125 ", None),
        ("0", "0.00"),
    ],
)
def test_a_price_is_read_as_people_and_tills_write_it(typed, price):
    if price is None:
        with pytest.raises(NoPrice):
            typed_price(typed, "USD")
    else:
        assert typed_price(typed, "USD") == Decimal(price)


@pytest.mark.parametrize(
    "typed",
    [
        "-3",
        "(3.00)",
        "\u22123",
        "3-",
        "=1+2",
        '=HYPERLINK("http://x")',
        "@SUM(A1)",
        "+cmd|' /C calc'!A0",
        "-cmd()",
        "nan",
        "inf",
        "1e5",
        "0x10",
        "12..5",
        "1,23,456",
        "1.2.3",
        "12.345,6.7",
        "twelve",
        "\u0661\u0662",
        "EUR 12",
        "12 \u20ac",
        "\u00a312",
        "C$12",
        "9" * 12,
        "48.355",
    ],
)
def test_what_is_no_price_is_never_taken_for_one(typed):
    with pytest.raises(NoPrice):
        typed_price(typed, "USD")


def test_a_comma_that_may_be_either_is_asked_about_unless_the_list_shows_its_way():
    with pytest.raises(Unclear):
        typed_price("1,234", "USD")
    assert typed_price("1,234", "USD", Way(".")) == Decimal("1234.00")
    with pytest.raises(NoPrice, match="finer than a cent"):
        typed_price("1,234", "USD", Way(","))
    assert way_of(["1,234", "12,50"]) == Way(",") and way_of(["1,234", "12.50"]) == Way(".")
    assert way_of(["12,50", "12.50"]) == Way() and way_of(["1.234.567"]) == Way(",")


@given(
    cents=st.integers(1, 10**8 - 1),
    decimal=st.sampled_from(".,"),
    group=st.booleans(),
    sign=st.sampled_from(["", "$", "USD "]),
)
@settings(max_examples=300)
def test_every_amount_written_either_way_is_read_back_to_the_cent(cents, decimal, group, sign):
    whole, rest = divmod(cents, 100)
    text = f"{whole:,}" if group else str(whole)
    text = text.replace(",", "." if decimal == "," else ",") + f"{decimal}{rest:02d}"
    assert typed_price(sign + text, "USD") == Decimal(cents) / 100


@given(st.text(max_size=30))
@settings(max_examples=400)
def test_any_text_is_a_price_none_or_a_reason(text):
    try:
        found = typed_price(text, "USD")
    except NoPrice as error:
        assert str(error)
    else:
        assert found is None or (found.is_finite() and 0 <= found < 10**9 and found == found.quantize(Decimal("0.01")))


# --- tables ---


def test_columns_separators_encodings_and_signs_are_found_out():
    plain = [("Part", "Price"), ("Head gasket", "1.048,50"), ("Gl\u00fchkerze", "12,00")]
    for separator in ",;\t|":
        out = io.StringIO()
        csv.writer(out, delimiter=separator).writerows(plain)
        for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252"):
            table = rows(out.getvalue().encode(encoding), "EUR")
            assert [(row.part, row.price) for row in table.rows] == [
                ("Head gasket", Decimal("1048.50")),
                ("Gl\u00fchkerze", Decimal("12.00")),
            ], (separator, encoding)
            assert table.separator == separator and table.decimal == ","
    many = rows("Part No;Description;Qty;Cost;Retail (EUR)\nA1;Piston;4;20,00;31,50\nA2;Ring set;4;5,00;9,99\n", "EUR")
    assert many.part_column == "Description" and many.price_column == "Retail (EUR)"
    assert [str(row.price) for row in many.rows] == ["31.50", "9.99"]
    chosen = rows("Part No;Description;Qty;Cost;Retail\nA1;Piston;4;20,00;31,50\n", "EUR", price_column="cost")
    assert str(chosen.rows[0].price) == "20.00"
    bare = rows("10021,Piston,31.50\n10022,Ring set,9.99\n")
    assert [(row.part, str(row.price)) for row in bare.rows] == [("Piston", "31.50"), ("Ring set", "9.99")]
    assert rows("sep=;\nPart;Price\nPiston;31,50\n").rows[0].price == Decimal("31.50")
    quoted = rows('Part,Price\n"Piston, with\npin","1,031.50"\nRing set,9.99\n')
    assert [(row.line, row.part) for row in quoted.rows] == [(2, "Piston, with pin"), (4, "Ring set")]


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "holds no rows"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"Part,Price\nPiston\0,3\n", "no text"),
        (b"\xff\xfeP", "begins as utf-16 and is not"),
        (b"Part,Colour\nPiston,red\n", "no column of parts and prices"),
    ],
)
def test_what_is_no_table_is_refused_in_words(raw, said):
    with pytest.raises(HowdeepError, match=said):
        rows(raw)


def test_a_column_that_is_not_there_is_named_with_the_nearest():
    with pytest.raises(HowdeepError, match="there is no column 'Prise'.*did you mean Price"):
        rows("Part,Price\nPiston,3\n", price_column="Prise")


@given(
    raw=st.one_of(
        st.binary(max_size=300),
        st.lists(
            st.lists(
                st.text(
                    st.sampled_from(string.ascii_letters + string.digits + " ,;.\"'=+@-$\u20ac\n\t\u00e9\x1b\u202e#:"),
                    max_size=14,
                ),
                max_size=5,
            ),
            max_size=8,
        ).map(lambda table: "\n".join(",".join(row) for row in table).encode()),
    )
)
@settings(max_examples=500, deadline=None)
def test_any_bytes_are_a_table_or_a_fault_and_never_a_traceback(raw):
    try:
        table = rows(raw)
    except HowdeepError as error:
        assert all(fault.file == "x.csv" and fault.message for fault in error.faults)
        return
    for row in table.rows:
        assert row.price is None or 0 < row.price < 10**9
        assert not re.search(r"[\x00-\x1f\x7f\u202e]", row.part + row.shown)
        assert row.price is None or not row.why


# --- matching ---

NAMES = {
    "Head gasket": "=parts.head_gasket",
    "GSKT, CYL HEAD": "=parts.head_gasket",
    "Piston rings": "=parts.ring_set",
    "valve exh": "=parts.exhaust_valve",
    "Intake valve": "=parts.inlet_valve",
    "brg shell main STD": "=parts.main_bearing_shells",
    "fan belt": "=parts.drive_belt",
    "sump gasket": "=parts.pan_gasket",
    "rocker cover gasket": "=parts.valve_cover_gasket",
    "Welch plugs": "=parts.core_plugs",
    "pump water": "=parts.water_pump",
    "Spark plugs": "=parts.spark_plug",
    "Points": "=parts.contact_points",
    "Grind crankpins": "=machine.grind_crankpins",
    "Grind main journals": "=machine.grind_main_journals",
    "surface head": "=machine.surface_head",
    "Reface valves": "=machine.grind_valve",
    "Piston pin": "=parts.piston_pin",
    "gudgeon pin": "=parts.piston_pin",
    "conrod bolts": "=parts.rod_bolts",
    "pressure test head": "=machine.pressure_test_head",
    "head_gasket": "=parts.head_gasket",
    "Piston ring set, one cylinder": "=parts.ring_set",
    "PISTON RING SET .030": "~parts.ring_set",
    "Fan belt 1200mm": "~parts.drive_belt",
    "injector nozle": "~parts.injector_nozzle",
    "valve": "~",
    "gasket": "~",
    "Windscreen wiper": "x",
    "Tyre 12x4": "x",
    "": "x",
}


def test_names_of_suppliers_match_exactly_nearly_or_not_at_all(shop):
    names = Names(shop.knowledge)
    for text, wanted in NAMES.items():
        kind, places, _ = names.match(text)
        assert {"exact": "=", "near": "~", "none": "x"}[kind] == wanted[0], (text, kind, places)
        if len(wanted) > 1:
            assert places[0] == wanted[1:], (text, places)


def test_every_title_and_id_of_the_rule_base_matches_itself_exactly(shop):
    names = Names(shop.knowledge)
    for table, entries in (("parts", shop.knowledge.parts), ("machine", shop.knowledge.machining)):
        for name, entry in entries.items():
            for text in (name, entry.title, entry.title.upper()):
                kind, places, _ = names.match(text)
                assert (kind, places) == ("exact", (f"{table}.{name}",)), (text, kind, places)


def test_a_price_far_from_what_stood_there_is_asked_about_and_quarrels_are_refused(shop, mine):
    prices = load_prices(mine, shop.knowledge)
    found = matched(
        shop.knowledge,
        rows(
            "Part,Price\nPiston,880.00\nHead gasket,50\nGrind valve,9\nReface a valve,11\n"
            "Piston pin,=1+1\nOil filter,12\n"
        ).rows,
        prices,
    )
    assert [(match.kind, match.places[0]) for match in found] == [
        ("near", "parts.piston"),
        ("exact", "parts.head_gasket"),
        ("refused", "machine.grind_valve"),
        ("refused", "machine.grind_valve"),
        ("refused", "parts.piston_pin"),
        ("exact", "parts.oil_filter"),
    ]
    assert "slip of the comma" in found[0].why and found[0].before == "88.00" and found[1].before == ""


# --- the command ---

TABLE = (
    "Item description,Sell price\nHead gasket,$51.25\nPiston ring set .030,$38\nWindscreen wiper,$4\n"
    'Oil filter,=HYPERLINK("x")\nGrind valve,-3\nSpark plug,"1,234"\nCondenser,11\n'
)


def imported(mine, *words, table=TABLE, **options):
    path = mine.with_name("list.csv")
    path.write_bytes(table if isinstance(table, bytes) else table.encode())
    return howdeep("prices", "import", path, "--into", mine, *words, **options)


def test_what_matches_exactly_is_written_with_its_date_and_comments_stay(mine, shop):
    done = imported(mine, "--date", "2026-11-29")
    assert done.returncode == 0, done.stderr
    text = mine.read_text()
    assert "# what we pay, less ten" in text and "# see shelf 3" in text
    assert read(mine).value["parts"] == {
        "head_gasket": {"figure": "51.25", "date": "2026-11-29"},
        "piston": "88.00",
        "condenser": {"figure": "11.00", "date": "2026-11-29"},
    }
    assert load_prices(mine, shop.knowledge).machine == {"grind_valve": "10.00"}
    assert "  head_gasket: {figure: '51.25', date: 2026-11-29}  # see shelf 3" in text
    assert "  condenser: {figure: '11.00', date: 2026-11-29}\n" in text
    for part in ("= ", "~ ", "x ", "! ", "not matched", "a formula, not a price", "is negative", "2 that match only"):
        assert part in done.stdout, (part, done.stdout)
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_nothing_is_written_for_near_rows_without_accept_near(mine):
    imported(mine)
    assert "ring_set" not in mine.read_text()
    done = imported(mine, "--accept-near")
    assert "ring_set" in mine.read_text() and done.returncode == 0
    assert "spark_plug" not in mine.read_text()  # 1,234.00 looks like a slip
    imported(mine, "--accept-near", table="Part,Price\nvalve,12\n")
    assert "exhaust_valve" not in mine.read_text()  # which valve, nobody can say


def test_a_dry_run_writes_nothing(mine):
    done = imported(mine, "--dry-run")
    assert done.returncode == 0 and mine.read_text() == MINE and "Nothing was written" in done.stdout


def test_faults_of_the_command_are_lines_and_leave_the_list_alone(mine):
    for words, table, said in (
        (("--date", "soon"), TABLE, "'soon' is not a date"),
        (("--accept-near", "--dry-run"), TABLE, "does nothing beside"),
        (("--engine", "nowhere-9"), TABLE, "nowhere-9"),
        ((), b"PK\3\4", "spreadsheet"),
    ):
        done = imported(mine, *words, table=table)
        assert done.returncode == 2 and said in done.stderr and "Traceback" not in done.stderr, done.stderr
        assert mine.read_text() == MINE
    done = howdeep("prices", "import", mine.with_name("none.csv"), "--into", mine)
    assert done.returncode == 2 and "there is no such file" in done.stderr
    done = howdeep("prices", "import", mine.with_name("list.csv"), "--into", mine.with_name("other.yaml"))
    assert done.returncode == 2 and "howdeep prices new" in done.stderr


def test_prices_for_one_engine_go_under_its_sheet(mine):
    done = imported(mine, "--engine", "pell-1", "--date", "2026-11-01", table="Part,Price\nPiston,140\nGrind valve,9\n")
    assert done.returncode == 0, done.stderr
    assert read(mine).value["engine_parts"] == {"pell-1": {"piston": "140.00"}}
    assert read(mine).value["machine"] == {"grind_valve": "10.00"}


# --- writing ---


def test_a_new_list_marks_every_figure_as_an_example_and_is_read(tmp_path, shop):
    example = load_prices(example_prices(), shop.knowledge)
    path = tmp_path / "prices.yaml"
    path.write_text(new_list(shop.knowledge, example, name="Ours: #1, 'x'", currency="EUR", date="2026-11-29"))
    made = load_prices(path, shop.knowledge)
    assert made.name == "Ours: #1, 'x'" and made.currency == "EUR" and not made.example
    assert (made.parts, made.machine) == (example.parts, example.machine)
    assert all(
        made.mark(place).example
        for place in (
            "labour_rate",
            "tax_percent",
            *(f"parts.{name}" for name in made.parts),
            *(f"machine.{name}" for name in made.machine),
        )
    )


def test_random_figures_put_one_by_one_keep_every_comment_and_every_other_figure(tmp_path, shop):
    rng = random.Random(4)
    example = load_prices(example_prices(), shop.knowledge)
    path = tmp_path / "prices.yaml"
    path.write_text(new_list(shop.knowledge, example, name="Ours", currency="USD", date="2026-11-29"))
    comments = path.read_text().count("#")
    wanted = {}
    for _ in range(40):
        place = rng.choice(
            [
                f"parts.{rng.choice(sorted(example.parts))}",
                f"machine.{rng.choice(sorted(example.machine))}",
                "labour_rate",
                "towing",
                f"engine_parts.pell-1.{rng.choice(sorted(example.parts))}",
            ]
        )
        figure = Figure(f"{rng.randrange(1, 99999) / 100:.2f}", rng.choice(["2026-11-29", "2025-01-31"]))
        put_figures(path, shop.knowledge, {place: figure})
        wanted[place] = figure
    made = load_prices(path, shop.knowledge)
    for place, figure in wanted.items():
        assert made.mark(place).date == figure.date and not made.mark(place).example
    untouched = [name for name in example.parts if f"parts.{name}" not in wanted]
    assert all(made.parts[name] == example.parts[name] and made.mark(f"parts.{name}").example for name in untouched)
    assert path.read_text().count("#") == comments


def test_a_figure_put_into_the_example_list_is_the_only_one_that_is_ones_own(tmp_path, shop):
    path = tmp_path / "prices.yaml"
    path.write_bytes(example_prices().read_bytes())
    put_figures(path, shop.knowledge, {"parts.piston": Figure("91.00", "2026-11-29")})
    made, example = load_prices(path, shop.knowledge), load_prices(example_prices(), shop.knowledge)
    assert not made.example and not made.mark("parts.piston").example
    assert all(
        made.mark(place).example
        for place in ("labour_rate", "machine.grind_valve", "parts.ring_set", "engine_parts.pell-1.piston")
    )
    assert {**made.parts, "piston": example.parts["piston"]} == example.parts
    assert made.engine_parts == example.engine_parts and "# An invented shop's" in path.read_text()
    assert "  ring_set: {figure: '34.00', example: true}" in path.read_text()


def test_a_figure_that_would_make_the_list_faulty_is_not_written(mine, shop):
    before = mine.read_bytes()
    for place, text in (("parts.pistn", "3"), ("labour_rate", "0"), ("parts.piston", "nan")):
        with pytest.raises(HowdeepError):
            put_figures(mine, shop.knowledge, {place: Figure(text, "2026-11-29")})
        assert mine.read_bytes() == before
