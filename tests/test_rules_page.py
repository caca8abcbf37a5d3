"""The rule base shown: links both ways, a page that stands by itself, graphs that say in words what they show."""

import itertools
import json
import re
import shutil
from html.parser import HTMLParser

import pytest
from typer.testing import CliRunner

from howdeep.cli.rules import app
from howdeep.errors import HowdeepError
from howdeep.knowledge.load import load
from howdeep.rulebook.entry import find_portraits, portraits
from howdeep.rulebook.statements import by_standing, statements, works_named
from howdeep.show.layers import Edge, crossings, order_columns, svg
from howdeep.show.rules_page import rules_page

from .pages import browser, serious
from .places import ROOT

SEEDED = ROOT / "tests" / "seeded_rules"


@pytest.fixture(scope="module")
def seeded():
    return load([SEEDED])


@pytest.fixture(scope="module")
def page(seeded):
    return rules_page(seeded)


class Parts(HTMLParser):
    """Tags, ids, links and headings of a page."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.ids, self.links, self.headings = [], [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.tags.append((tag, given))
        self.ids += [given["id"]] if "id" in given else []
        self.links += [given["href"]] if tag == "a" else []
        self.headings += [int(tag[1])] if re.fullmatch("h[1-6]", tag) else []


def test_every_link_between_entries_can_be_followed_both_ways(seeded):
    entries = portraits(seeded)
    ends = {(key, link.key) for key, entry in entries.items() for _, links in entry.links for link in links}
    rests = {(key, source.key) for key, entry in entries.items() for source in entry.sources if source.key}
    assert ends and all((other, key) in ends for key, other in ends - {(other, key) for key, other in rests})
    assert all((work, key) in ends for key, work in rests)


@pytest.mark.parametrize(
    ("one", "label", "other"),
    [
        ("causes/worn_rings", "Shows itself as", "findings/blue_smoke"),
        ("findings/blue_smoke", "Explained by", "causes/worn_rings"),
        ("operations/re_ring", "Cures", "causes/worn_rings"),
        ("observations/volts", "Clears the hold", "holds/battery_first"),
        ("scopes/refresh", "Work that begins at this rung", "operations/re_ring"),
        ("cautions/sparks", "Stands before", "operations/charge"),
        ("limits/cranking_least", "Compared with by", "findings/low_volts"),
        ("sources/handbook-one", "Supports", "observations/volts"),
        ("parts/ring_set", "Used by", "operations/re_ring"),
    ],
)
def test_an_entry_names_what_it_leads_to_and_what_leads_to_it(seeded, one, label, other):
    links = dict(portraits(seeded)[one].links)
    assert other in {link.key for link in links[label]}


def test_an_unknown_id_names_the_nearest(seeded):
    with pytest.raises(HowdeepError, match="worn_rings"):
        find_portraits(seeded, "worn_ring")


def test_the_page_stands_by_itself(page):
    parts = Parts(page)
    assert not [tag for tag, _ in parts.tags if tag in ("script", "link", "iframe", "img", "object", "embed")]
    assert not re.search(r"@import|url\(|javascript:| on\w+=", page)
    assert all(link.startswith("#") for link in parts.links)
    assert not re.search(r"(src|href)=[\"']?(https?:)?//", page)


def test_every_link_on_the_page_has_its_target_and_every_id_stands_once(page, seeded):
    parts = Parts(page)
    assert len(parts.ids) == len(set(parts.ids))
    assert {link[1:] for link in parts.links} <= set(parts.ids)
    assert {key.replace("/", "-", 1) for key in portraits(seeded)} <= set(parts.ids)


def test_headings_go_down_one_step_at_a_time(page):
    headings = Parts(page).headings
    assert headings[0] == 1 and headings.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in itertools.pairwise(headings))


def test_each_system_has_a_graph_that_says_in_words_what_it_shows(page, seeded):
    systems = {cause.system for cause in seeded.causes.values()}
    drawings = re.findall(r"<svg.*?</svg>", page, re.DOTALL)
    assert len(drawings) == len(systems)
    for drawing in drawings:
        assert 'role="img"' in drawing and "<title" in drawing and "<desc" in drawing
        for name in re.search(r'aria-labelledby="([^"]*)"', drawing).group(1).split():
            assert f'id="{name}"' in drawing


def test_the_page_prints_and_knows_dark_and_light(page):
    assert "@media print" in page and "prefers-color-scheme: dark" in page


def test_the_same_rule_base_gives_the_same_page(seeded, page):
    assert rules_page(load([SEEDED])) == page == rules_page(seeded)


def test_what_a_rule_says_is_shown_as_text_and_never_as_markup(tmp_path):
    folder = shutil.copytree(SEEDED, tmp_path / "rules")
    causes = (folder / "causes.yaml").read_text()
    (folder / "causes.yaml").write_text(causes.replace("title: Worn rings", "title: <script>alert(1)</script> & rings"))
    page = rules_page(load([folder]))
    assert "<script" not in page and "&lt;script&gt;alert(1)&lt;/script&gt; &amp; rings" in page
    assert "<script" not in "".join(re.findall(r"<svg.*?</svg>", page, re.DOTALL))


def test_the_page_of_the_shipped_rules_holds_every_entry_and_is_accessible(shipped, tmp_path):
    html = rules_page(shipped)
    parts = Parts(html)
    assert {key.replace("/", "-", 1) for key in portraits(shipped)} <= set(parts.ids)
    assert {link[1:] for link in parts.links} <= set(parts.ids)
    # the checker is quadratic in the length of a page, so it reads the seeded one, made from the same template
    path = tmp_path / "rules.html"
    path.write_text(rules_page(load([SEEDED])), encoding="utf-8")
    with browser() as window:
        window.get(path.as_uri())
        assert serious(window) == []
    with browser(375, 720) as window:
        window.get(path.as_uri())
        wide = window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 1, "the page scrolls sideways"


def test_the_drawing_uncrosses_what_can_be_uncrossed():
    columns = [["a", "b", "c"], ["x", "y", "z"]]
    edges = [Edge("a", "z"), Edge("b", "y"), Edge("c", "x")]
    assert crossings(columns, edges) == 3
    assert crossings(order_columns(columns, edges), edges) == 0


def test_no_two_boxes_of_the_drawing_overlap():
    names = [f"n{number}" for number in range(12)]
    drawing = svg(
        [("One", names[:9]), ("Two", names[9:])],
        [Edge("n0", "n9")],
        {name: name * 9 for name in names},
        name="g",
        title="T",
        description="D",
    )
    boxes = [(float(x), float(y)) for x, y in re.findall(r'class="box" x="([\d.]+)" y="([\d.]+)"', drawing)]
    assert len(boxes) == 12
    for x in {x for x, _ in boxes}:
        rows = sorted(y for other, y in boxes if other == x)
        assert all(later - earlier > 22 for earlier, later in itertools.pairwise(rows))


def test_statements_are_counted_by_standing(seeded):
    found = statements(seeded)
    counts = by_standing(found)
    assert counts["published"] == 2 and counts["memory"] == 4 and sum(counts.values()) == len(found)
    assert works_named(found) == ("handbook-one",)


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_show_is_readable_at_80_columns_without_colour():
    done = run("show", "worn_rings")
    assert done.exit_code == 0, done.output
    assert "\x1b" not in done.output and max(map(len, done.output.splitlines())) <= 80
    for part in ("CURED BY", "SHOWS ITSELF AS", "WHERE THIS COMES FROM", "[findings/", "[operations/"):
        assert part in done.output


@pytest.mark.parametrize("what", ["smoke_pulling", "re_ring", "refresh", "compression.level", "operations/valve_job"])
def test_show_knows_every_kind(what):
    done = run("show", what)
    assert done.exit_code == 0 and len(done.output.splitlines()) > 5


def test_explain_lists_every_check_and_explains_one():
    from howdeep.rulecheck.run import BY_CODE

    listed = run("explain").output
    assert all(code in listed for code in BY_CODE)
    assert "Why it matters:" in run("explain", "counted-twice").output


def test_the_check_of_a_shops_own_rules_shows_what_they_replaced_and_fails_on_an_error(tmp_path):
    causes = (ROOT / "rules" / "causes").rglob("*.yaml")
    text = next(path.read_text(encoding="utf-8") for path in causes if "weak_battery:" in path.read_text())
    entry = re.search(r"^weak_battery:\n(?:  .*\n)+", text, re.MULTILINE).group(0)
    (tmp_path / "causes.yaml").write_text(re.sub(r"because: >-\n(?:    .*\n)+", "because: see above\n", entry))
    done = run("check", "--rules", tmp_path, "--without-cases", "--code", "thin-because")
    assert done.exit_code == 1
    assert "REPLACED" in done.output and "causes/weak_battery" in done.output and "thin-because" in done.output
    answer = json.loads(run("check", "--rules", tmp_path, "--without-cases", "--json", "--code", "thin-because").output)
    assert answer["replaced"] == ["causes/weak_battery"] and answer["clean"] is False
    hit = next(item for item in answer["anomalies"] if item["code"] == "thin-because")
    assert hit["file"].endswith("causes.yaml") and hit["line"] > 1 and hit["entry"] == "causes/weak_battery"


def test_schemas_are_written_and_one_is_printed_with_the_ids_of_the_rule_base(tmp_path):
    assert run("schema", "--out", tmp_path).exit_code == 0
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in (ROOT / "schemas").iterdir()}
    assert "smoke_pulling" in run("schema", "job", "--names").output
    assert "smoke_pulling" not in run("schema", "job").output


def test_the_page_and_the_sources_are_commands(tmp_path):
    out = tmp_path / "rules.html"
    assert run("page", out).exit_code == 0 and out.read_text(encoding="utf-8").startswith("<!doctype html>")
    answer = json.loads(run("sources", "--json").output)
    assert sum(answer["by_standing"].values()) == len(answer["statements"])
    assert "published works are named" in run("sources", "--short").output
