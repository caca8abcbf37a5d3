"""The estimate is one sheet of paper: every kind of answer, the longest case, very long names, on Letter and on A4."""

import base64
import dataclasses
import io
import json

import pytest
from PIL import Image

from howdeep.model.prices import Letterhead
from howdeep.model.shop import ShopSettings
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.show.estimate_page import estimate_page
from howdeep.show.estimate_words import TITLES
from howdeep.show.price_notes import price_notes

from .pages import browser, serious
from .places import ROOT

GOLDEN = ROOT / "tests" / "golden"
MM = 96 / 25.4
"""Dots of the browser in a millimetre."""
SHEETS = {"Letter": (215.9, 279.4), "A4": (210.0, 297.0)}
"""Width and height in millimetres (ANSI/ASME Y14.1 size A; ISO 216)."""
MARGIN = {"x": 14, "y": 11}
"""Margins in millimetres, as the style of the page sets them."""
CASES = {
    "do_not_run": "a_thudding_engine_with_a_dead_needle_is_carried_in",
    "promise": "one_hole_past_the_last_size_is_sleeved_and_the_others_are_bored",
    "check_first": "a_boat_with_a_tired_pump_and_low_compression_needs_both_put_right",
    "look_inside": "a_sharp_knock_that_one_plug_stops_is_that_rod",
    "begin_with": "lobes_worn_round_take_the_lift_and_the_engine_out",
    "can_wait": "a_slap_that_goes_when_warm_can_wait_for_years",
    "stop": "rings_that_die_every_season_in_a_scored_wall_are_not_the_trouble_themselves",
}
"""Kind of answer -> the worked case of that kind with most lines in its quote (of the promises: of all cases)."""
TALLEST = "cream_in_a_boat_diesel_known_by_its_kind_alone_is_looked_for_at_the_cooler"
"""Of all worked cases the one that takes most room with very long names: dangers, and an engine without a sheet."""
LONG = "Worshipful Company of Very Long Names and Longer Addresses at the Far End of the Valley " * 8
FULL = ShopSettings(
    guarantee="We stand by this. " * 15, terms="Pay when you fetch it. " * 12, signs="A. Smith, who signs"
)
SHOP = Letterhead("Hill Farm Engines, invented", "1 Lane\nNowhere", "000-0000", "shop@example.org")


def named(answer, text):
    """The same job with a customer, a machine and an engine of this name, who said this."""
    job, customer = answer.job, answer.job.job.customer
    customer = dataclasses.replace(customer, name=text, machine=text, words=text)
    return dataclasses.replace(
        answer,
        job=dataclasses.replace(
            job, job=dataclasses.replace(job.job, customer=customer), engine=dataclasses.replace(job.engine, name=text)
        ),
    )


def written(shop, answer, settings, **options):
    quote = build_quote(shop.knowledge, answer, shop.prices)
    estimate = estimate_of(shop.knowledge, answer, quote, shop.prices, settings, date="2026-11-29", **options)
    return estimate, estimate_page(estimate, shop=SHOP, notes=price_notes(quote, "2026-11-29"))


@pytest.fixture(scope="module")
def answers(shop, assessed):
    """Kind -> an answer of it; the two that are about checks with their checks ranked."""

    def of(kind):
        if kind in ("check_first", "do_not_run"):
            from howdeep.knowledge.where import shipped_cases

            return shop.assess(shop.open_job(shipped_cases() / f"{CASES[kind]}.yaml"), flips=False)
        return assessed[CASES[kind]]

    return {kind: of(kind) for kind in CASES}


@pytest.fixture(scope="module")
def pages(shop, assessed, answers):
    """Name -> (estimate, page): each kind of answer, and each with very long names and all that the shop may say."""
    made = {}
    for kind, answer in answers.items():
        made[kind] = written(shop, answer, ShopSettings())
        made[f"{kind}, long"] = written(shop, named(answer, LONG), FULL, number="2026-00000000000000001")
    made["tallest, long"] = written(shop, named(assessed[TALLEST], LONG), FULL, number="2026-00000000000000001")
    return made


@pytest.fixture(scope="module")
def window(tmp_path_factory):
    with browser(1000, 1400) as opened:
        yield opened


def show(window, folder, page):
    path = folder / "page.html"
    path.write_text(page, encoding="utf-8")
    window.get(path.as_uri())


def pages_of(window, sheet):
    """How many sheets it prints on."""
    width, height = (side / 25.4 for side in SHEETS[sheet])
    printed = window.execute_cdp_cmd(
        "Page.printToPDF",
        {"paperWidth": width, "paperHeight": height, "preferCSSPageSize": False, "printBackground": False},
    )
    pdf = base64.b64decode(printed["data"])
    return pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ")


def as_printed(window, sheet):
    """Lay the page out as it prints, between the margins of a sheet."""
    width = round((SHEETS[sheet][0] - 2 * MARGIN["x"]) * MM)
    window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    window.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": round(SHEETS[sheet][1] * MM), "deviceScaleFactor": 1, "mobile": False},
    )


BOXES = """return [...document.querySelectorAll('.head, h1, .who, .notice, .b-told, .b-found, .b-propose, .price,'
 + 'svg.depth, .columns > section, .b-terms, .sign, .small')].map(part => {const box = part.getBoundingClientRect();
 return {name: part.className.baseVal ?? (part.className || part.tagName.toLowerCase()), left: box.left, top: box.top,
 right: box.right, bottom: box.bottom}})"""


def test_every_kind_of_answer_has_a_paper_of_its_own(pages, answers):
    assert all(answer.decision.kind == kind for kind, answer in answers.items())
    papers = {kind: pages[kind][0].paper for kind in CASES}
    assert papers == {
        "do_not_run": "do_not_run",
        "promise": "estimate",
        "check_first": "find_out",
        "look_inside": "find_out",
        "begin_with": "begin_with",
        "can_wait": "can_wait",
        "stop": "stop",
    }
    for kind in CASES:
        assert f"<h1>{TITLES[papers[kind]]}</h1>" in pages[kind][1]


def test_it_prints_on_one_sheet_with_the_total_in_the_upper_half(window, tmp_path, pages):
    for name, (_, page) in pages.items():
        show(window, tmp_path, page)
        for sheet, (_, height) in SHEETS.items():
            assert pages_of(window, sheet) == 1, (name, sheet)
            as_printed(window, sheet)
            total = window.execute_script(
                "const row = document.querySelector('.price tr.strong');"
                "return row && row.getBoundingClientRect().bottom"
            )
            if not name.startswith("can_wait"):
                assert total is not None, name
            assert total is None or total < height / 2 * MM - MARGIN["y"] * MM, (name, sheet)
            window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
            window.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_nothing_lies_over_anything_else_or_runs_off_the_sheet(window, tmp_path, pages):
    for name, (_, page) in pages.items():
        show(window, tmp_path, page)
        as_printed(window, "Letter")
        boxes = window.execute_script(BOXES)
        wide = (SHEETS["Letter"][0] - 2 * MARGIN["x"]) * MM + 1
        assert all(box["left"] >= -1 and box["right"] <= wide for box in boxes), name
        for place, first in enumerate(boxes):
            for second in boxes[place + 1 :]:
                over = (
                    min(first["right"], second["right"]) - max(first["left"], second["left"]),
                    min(first["bottom"], second["bottom"]) - max(first["top"], second["top"]),
                )
                assert min(over) < 2, (name, first["name"], second["name"])
        window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        window.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def ink(picture, across=12, down=16):
    """[down][across] how dark each part of a page is, 0 to 1: what fonts move little."""
    small = picture.convert("L").resize((across, down), Image.Resampling.BOX)
    return [[1 - small.getpixel((x, y)) / 255 for x in range(across)] for y in range(down)]


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_printed_page_looks_as_it_did(window, tmp_path, pages, sheet):
    """Held coarsely to a kept picture, for fonts differ by machine. Make it anew by deleting the old one."""
    show(window, tmp_path, pages["promise"][1])
    as_printed(window, sheet)
    width, height = ((side - 2 * margin) * MM for side, margin in zip(SHEETS[sheet], MARGIN.values(), strict=True))
    shot = window.execute_cdp_cmd(
        "Page.captureScreenshot",
        {"format": "png", "clip": {"x": 0, "y": 0, "width": width, "height": height, "scale": 0.45}},
    )
    picture = Image.open(io.BytesIO(base64.b64decode(shot["data"]))).convert("L")
    window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    window.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    kept = GOLDEN / f"estimate-{sheet.lower()}.png"
    if not kept.exists():
        picture.quantize(8).save(kept, optimize=True)
        pytest.fail(f"there was no {kept.name}: one was made, look at it")
    was, now = ink(Image.open(kept)), ink(picture)
    apart = [abs(one - other) for row, line in zip(was, now, strict=True) for one, other in zip(row, line, strict=True)]
    assert sum(apart) / len(apart) < 0.05 and max(apart) < 0.6, json.dumps([round(value, 2) for value in apart])


def test_on_a_telephone_it_stands_in_one_column(window, tmp_path, pages):
    window.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride", {"width": 375, "height": 720, "deviceScaleFactor": 1, "mobile": True}
    )
    for name in ("promise", "check_first, long"):
        show(window, tmp_path, pages[name][1])
        assert window.execute_script("return document.documentElement.scrollWidth - window.innerWidth") <= 1, name
        lefts = {
            round(box["left"]) for box in window.execute_script(BOXES) if box["name"] in ("b-told", "price", "sign")
        }
        assert len(lefts) <= 2 and max(lefts) - min(lefts) < 5, name
    window.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_it_has_no_serious_accessibility_finding_and_loads_nothing(window, tmp_path, pages):
    for name in ("promise", "check_first", "do_not_run", "look_inside"):
        page = pages[name][1]
        assert "<script" not in page and "src=" not in page and "url(http" not in page and page.count("<h1") == 1
        show(window, tmp_path, page)
        assert serious(window) == [], name


@pytest.mark.parametrize(
    ("case", "afterwards", "told"),
    [
        ("dust_in_the_oil_after_a_cracked_hose_has_worn_what_it_passed", "stop", "As it looks now we would stop"),
        ("nothing_is_given_up_by_telephone", "can_wait", "As it looks now it can be left as it is and run on"),
    ],
)
def test_checks_before_it_is_given_up_are_not_said_to_change_the_advice(shop, case, afterwards, told):
    job = shop.open_job(ROOT / "cases" / f"{case}.yaml")
    estimate, page = written(shop, shop.assess(job, flips=False), ShopSettings())
    assert (estimate.paper, estimate.then, estimate.afterwards) == ("find_out", "check_first", afterwards)
    assert told in page and "can change what we advise" not in page
