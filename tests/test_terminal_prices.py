"""Prices and the shop asked for in a pseudo-terminal: saved one by one, gone on with, offered by a quote."""

import re

import pexpect
import pytest

from howdeep.files.strict_yaml import read
from howdeep.pricing.answers import read_tax
from howdeep.pricing.read import example_prices, load_prices
from howdeep.shop.read import load_shop

from .commands import howdeep, in_a_terminal
from .pages import CASE

PROMPT = "> "


def started(*words, cwd):
    return in_a_terminal(*words, cwd=cwd)


def typed(child, text, wanted=PROMPT):
    child.sendline(text)
    child.expect(wanted)
    return child.before


def ended(child):
    child.expect(pexpect.EOF)
    child.close()
    return child.before


def begun(folder):
    child = started("prices", "new", "prices.yaml", cwd=folder)
    child.expect("Name of the shop: ")
    child.sendline("Our shop")
    child.expect("USD\\): ")
    child.sendline("dollars")
    child.expect("Three letters")
    child.expect("USD\\): ")
    child.sendline("")
    child.expect(PROMPT)
    return child


def test_the_fifteen_are_asked_saved_at_once_and_gone_on_with(tmp_path, shop):
    path = tmp_path / "prices.yaml"
    child = begun(tmp_path)
    shown = child.before
    assert "1 of 15" in shown and "74.00, example" in shown
    assert load_prices(path, shop.knowledge).mark("labour_rate").example
    typed(child, "$82,50")
    assert read(path).value["labour_rate"] == "82.50"
    assert "is not a percentage" in typed(child, "lots", "percent > ")
    typed(child, "7,5 on parts, supplies", "percent > ")
    assert read(path).value["tax_on"] == ["parts", "supplies"] and read(path).value["tax_percent"] == "7.5"
    typed(child, "5")
    typed(child, "b", "percent > ")
    typed(child, "6")
    assert read(path).value["supplies_percent"] == "6"
    typed(child, "=")
    assert read(path).value["comeback_charge"] == "450.00"
    child.close(force=True)  # killed in the middle

    child = started("prices", "new", "prices.yaml", cwd=tmp_path)
    child.expect("1 of 11")
    child.expect("fetching the machine")
    child.expect(PROMPT)
    typed(child, "0")
    for number in range(10):
        child.sendline(str(10 + number))
        while child.expect([PROMPT, "enough for now\\): ", "type it again\\): "]) == 2:
            child.sendline("k")  # so little can hardly be, and this shop says that it is so
    assert "Still examples" in child.before
    child.sendline("2")
    child.expect(PROMPT)
    child.sendline("q")
    shown = ended(child)
    assert child.exitstatus == 0 and "goes on from here" in " ".join(shown.split())
    prices = load_prices(path, shop.knowledge)
    assert prices.machine["grind_valve"] == "10.00" and not prices.mark("machine.resurface_flywheel").example
    assert prices.mark("parts.piston").example
    example = load_prices(example_prices(), shop.knowledge)
    assert set(prices.parts) == set(example.parts) and "# Piston with pin" in path.read_text()


def test_leaving_before_there_is_a_list_writes_nothing(tmp_path):
    child = started("prices", "new", "prices.yaml", cwd=tmp_path)
    child.expect("Name of the shop: ")
    child.sendeof()
    assert "was not written" in ended(child).replace("\r\n", " ")
    assert child.exitstatus == 130 and not list(tmp_path.iterdir())


def test_no_question_of_prices_or_shop_is_wider_than_the_terminal(tmp_path):
    child = begun(tmp_path)
    shown = child.before
    for _ in range(14):
        shown += typed(child, "")
    child.sendline("h")
    child.expect(PROMPT)
    shown += child.before
    assert max(len(line.rstrip("\r")) for line in shown.split("\n")) <= 80
    child.close(force=True)


def test_a_quote_offers_to_type_what_it_lacks_there_and_then(tmp_path, shop):
    (tmp_path / "job.yaml").write_text(CASE.read_text())
    text = example_prices().read_text().replace("example: true\n", "").replace('date: "2024-03-01"', "date: 2026-11-01")
    text = re.sub(r"(?m)^  (ring_set|grind_valve): .*\n", "", text).replace(
        'head_gasket: "48.00"', 'head_gasket: {figure: "48.00", example: true}  # shelf 3'
    )
    (tmp_path / "prices.yaml").write_text(text)
    child = started("quote", "job.yaml", cwd=tmp_path)
    child.expect("Of this quote 3 prices are missing or examples")
    assert "Without a price" in child.before and "not a total" in child.before
    child.expect("Type these 3 now\\?.*: ")
    typed(child, "y")
    assert "1 of 3" in child.before
    typed(child, "12.00 here")  # the works of the machine shop have one price
    assert "'12.00 here' is not" in child.before
    typed(child, "12.00")
    typed(child, "36.00 here")
    child.sendline("")
    shown = ended(child).replace("\r\n", " ")
    assert "2 of 3 are yours now" in shown, shown
    prices = load_prices(tmp_path / "prices.yaml", shop.knowledge)
    assert prices.machine["grind_valve"] == "12.00" and "ring_set" not in prices.parts
    assert prices.engine_parts["brockwell-4"]["ring_set"] == "36.00" and prices.mark("parts.head_gasket").example
    assert "# shelf 3" in (tmp_path / "prices.yaml").read_text()
    child = started("quote", "job.yaml", cwd=tmp_path)
    child.expect("Of this quote one price is missing or an example")
    child.expect("Type it now\\?.*: ")
    child.sendline("")
    ended(child)
    assert child.exitstatus == 0


def test_a_quote_in_a_pipe_asks_nothing_and_fill_needs_a_list_of_ones_own(tmp_path):
    (tmp_path / "job.yaml").write_text(CASE.read_text())
    done = howdeep("quote", tmp_path / "job.yaml", typed="")
    assert done.returncode == 0 and "Type these" not in done.stdout and "invented" in done.stdout
    done = howdeep("prices", "fill", tmp_path / "job.yaml", typed="")
    assert done.returncode == 2 and f"howdeep prices new {tmp_path / 'prices.yaml'}" in done.stderr


def test_the_shop_is_asked_once_and_shown(tmp_path, shop):
    child = started("shop", cwd=tmp_path)
    child.expect(PROMPT)
    for answer in ("Hill Farm Engines", "1 Lane\\nTown", "000-1", "", "A. Smith", "One year.", "Pay on the day."):
        typed(child, answer)
    assert "'high up' is not a number with a unit" in typed(child, "high up")
    typed(child, "1200 ft")
    assert "'furlongs' are no units" in typed(child, "furlongs")
    typed(child, "metric")
    typed(child, "75 %")
    typed(child, "")
    typed(child, "1001")
    child.sendline("")
    child.expect("owns all\\): ")
    assert "Leakage tester" in child.before
    number = re.search(r"(\d+) Leakage tester", child.before).group(1)
    typed(child, "99", "owns all\\): ")
    child.sendline(number)
    ended(child)
    assert child.exitstatus == 0
    made = load_shop(tmp_path / "shop.yaml", shop.knowledge)
    assert (
        made.letterhead.name,
        made.letterhead.address,
        made.signs,
        made.altitude,
        made.units,
        made.promise_floor,
        made.firm_floor,
    ) == ("Hill Farm Engines", "1 Lane\nTown", "A. Smith", "1200 ft", "metric", 0.75, None)
    assert [name for name, owned in made.tools.items() if owned == "no"] == ["leakage_tester"]
    shown = howdeep("shop", "show", "--folder", tmp_path)
    assert (made.guarantee, made.terms) == ("One year.", "Pay on the day.")
    for part in ("Hill Farm Engines", "A. Smith", "One year.", "1200 ft", "75 %", "Leakage tester", "Not offered: "):
        assert part in shown.stdout, part
    assert max(map(len, shown.stdout.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("7 on parts, supplies", ("7", ("parts", "supplies"))),
        ("20 % on all", ("20", ("labour", "parts", "machine", "supplies"))),
        ("8.25 on part and labour", ("8.25", ("labour", "parts"))),
        ("0", ("0", ("labour", "parts", "machine", "supplies"))),
    ],
)
def test_the_tax_is_typed_in_one_line(words, wanted):
    assert read_tax(words) == wanted


def test_b_and_q_are_taken_at_every_question_of_a_new_list(tmp_path, shop):
    child = started("prices", "new", "prices.yaml", cwd=tmp_path)
    child.expect("Name of the shop: ")
    assert "first question" in typed(child, "b", "shop: ")
    assert "That is a figure" in typed(child, "62,50", "shop: ")
    typed(child, "Our shop", "USD\\): ")
    typed(child, "b", "shop: ")
    typed(child, "Hill Farm Engines", "USD\\): ")
    typed(child, "", PROMPT)
    shown = typed(child, "b")
    assert "first of them" in shown and "2 of 15" not in shown
    typed(child, "62.50", "percent > ")
    typed(child, "7", "Enter = all\\): ")
    assert "2 of 15" not in typed(child, "b", "percent > ")
    typed(child, "7", "Enter = all\\): ")
    child.sendline("q")
    assert "goes on from here" in " ".join(ended(child).split())
    assert read(tmp_path / "prices.yaml").value["name"] == "Hill Farm Engines, prices"


def test_the_name_that_the_shop_was_told_is_offered(tmp_path, shop):
    (tmp_path / "shop.yaml").write_text("howdeep_shop: 1\nletterhead: {name: Hill Farm Engines}\n")
    child = started("prices", "new", "prices.yaml", cwd=tmp_path)
    child.expect("Enter = Hill Farm Engines\\): ")
    typed(child, "", "USD\\): ")
    typed(child, "", PROMPT)
    assert read(tmp_path / "prices.yaml").value["name"] == "Hill Farm Engines, prices"
    child.close(force=True)


def test_a_price_that_can_hardly_be_is_asked_about_when_it_is_typed(tmp_path, shop):
    path = tmp_path / "prices.yaml"
    child = begun(tmp_path)
    shown = typed(child, "6250", "type it again\\): ")
    assert "That can hardly be" in shown and "62.50: the decimal point two places to the left" in shown
    assert read(path).value["labour_rate"] != "6250.00"
    number = re.search(r"(\d)  62.50:", shown).group(1)
    typed(child, number, "percent > ")
    assert read(path).value["labour_rate"] == "62.50"
    child.sendline("700")
    child.expect("Enter = all\\): ")
    assert "That can hardly be" in typed(child, "", "type it again\\): ")
    typed(child, "", "percent > ")
    child.sendline("700")
    child.expect("Enter = all\\): ")
    typed(child, "", "type it again\\): ")
    typed(child, "k")
    plain = read(path).value
    assert plain["tax_percent"] == "700" and "looked at again" in plain["sure"]["tax_percent"]
    child.close(force=True)


def test_every_place_that_counts_a_list_counts_the_same(tmp_path):
    child = begun(tmp_path)
    typed(child, "82,50")
    child.sendline("q")
    ended(child)
    counts = [
        re.search(r"(\d+) of (\d+) prices are yours; (\d+) are examples", howdeep("prices", "show", cwd=tmp_path).stdout),
        re.search(r"Still examples: (\d+) of (\d+)", howdeep("prices", "check", cwd=tmp_path).stdout),
    ]
    own, every, examples = map(int, counts[0].groups())
    assert (examples, every) == tuple(map(int, counts[1].groups())) and own == 1 == every - examples
