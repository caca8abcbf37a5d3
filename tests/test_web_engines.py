"""Engine sheets on the page: made, filled in group by group, doubted at once, and never another file touched."""

import re

import pytest

from howdeep.files.strict_yaml import read
from howdeep.knowledge.engines import find, load_sheet, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.sheets.by_group import as_typed, fill_group, text_at
from howdeep.sheets.draft import open_draft, value_at
from howdeep.sheets.printed import printed
from howdeep.web.app import create_app

from .pages import HOST, Page, shown, strange_script, text

SHIPPED = shipped_rules()


@pytest.fixture
def page(folder, shop):
    made = Page(create_app(folder, shop))
    assert made.post("/engines", "/engines", {"name": "Ferrier 3"}).status_code == 303
    return made


def send(page, group, **fields):
    """Post a group with the fields as they were shown, and those given changed; '__' stands for a dot."""
    changed = {name.replace("__", "."): value for name, value in fields.items()}
    return page.post(f"/engine/ferrier-3/{group}", "/engine/ferrier-3", changed)


def plain(folder):
    return read(folder / "engines" / "ferrier-3.yaml").value


def test_every_unit_that_a_group_asks_for_has_a_word(page):
    html = text(page.get("/engine/ferrier-3"))
    words = re.findall(r"Unit of the (.*?) below that say none", html)
    assert "flows" in words and all(words)


def test_a_sheet_is_made_filled_in_by_groups_and_used_by_a_job(page, folder, shop):
    done = send(
        page,
        "first",
        build__fuel="diesel",
        build__cylinders="two",
        build__layout="overhead_valve",
        bore="85",
        stroke="100 mm",
        unit__length="mm",
        build__use="marine",
    )
    assert done.status_code == 303
    made = plain(folder)
    assert made["bore"] == {"low": "85 mm"} and made["stroke"] == "100 mm" and made["build"]["cylinders"] == 2
    assert "build.fuel" not in made["assumed"] and "build.guides" in made["assumed"]
    assert "Glow plugs" in text(page.get("/engine/ferrier-3")) and "Spark plugs" not in text(
        page.get("/engine/ferrier-3")
    )
    assert send(page, "torques", torques__head="30, 55, 75-80 Nm oiled").status_code == 303
    assert plain(folder)["torques"]["head"]["stages"] == ["30 Nm", "55 Nm", "80 Nm"]
    assert "ferrier-3" in text(page.get("/new"))
    assert page.post("/new", "/new", {"engine": "ferrier-3", "words": "smokes"}).status_code == 303
    assert "75-80 Nm" in text(page.get("/engine/ferrier-3/card"))


def test_what_is_doubted_comes_back_in_its_field_with_slips_and_what_is_sound_is_saved(page, folder):
    done = send(page, "valves", lash_inlet="0.13 in cold", lash_exhaust="0.015 in")
    html = text(done)
    assert done.status_code == 422 and plain(folder)["lash_exhaust"] == "0.015 in" and "lash_inlet" not in plain(folder)
    assert 'value="0.13 in cold"' in html and "valve clearance is usually" in html and "right as typed" in html
    assert re.search(r'name="slip\.lash_inlet" value="0\.013 in"', html)
    assert send(page, "valves", lash_inlet="0.13 in cold", slip__lash_inlet="0.013 in").status_code == 303
    assert plain(folder)["lash_inlet"] == "0.013 in"
    assert send(page, "valves", lash_inlet="0.060 in", sure__lash_inlet="1").status_code == 303
    assert "lash_inlet" in plain(folder)["sure"]
    assert load_sheet(folder / "engines" / "ferrier-3.yaml").questions == ()


def test_what_cannot_be_read_or_has_no_unit_comes_back_with_an_example(page, folder):
    before = plain(folder)
    html = text(send(page, "pistons", ring_gap="tight", piston_skirt="3.4"))
    assert "Type it like: .013-.019, limit .040" in html and "In what unit?" in html and 'value="tight"' in html
    html = text(send(page, "pistons", piston_clearance="0.0025-0.004 in, limit 0.003 in"))
    assert "must stay below it" in html and "right as typed" not in html
    assert plain(folder) == before


def test_two_people_at_one_sheet_keep_both_what_they_saved(page, folder):
    old = shown(text(page.get("/engine/ferrier-3")))
    assert send(page, "compression", compression_ratio="6.5 to 1").status_code == 303
    done = page.post(
        "/engine/ferrier-3/compression", "/engine/ferrier-3", {**old, "compression_ratio": "7", "cranking_rpm": "185"}
    )
    assert done.status_code == 422 and "Somebody else saved" in text(done)
    assert plain(folder)["compression_ratio"] == 6.5 and plain(folder)["cranking_rpm"] == "185 rpm"
    assert send(page, "compression", compression_ratio="7").status_code == 303
    assert plain(folder)["compression_ratio"] == 7


def test_an_expired_form_keeps_what_was_typed(page):
    data = {"form_token": "old", "lash_inlet": "0.013 in", "was.lash_inlet": ""}
    done = page.client.post("/engine/ferrier-3/valves", data=data, headers=HOST)
    html = text(done)
    assert done.status_code == 403 and 'value="0.013 in"' in html and "expired" in html
    assert "lash_inlet" not in text(page.get("/engine/ferrier-3/card"))


@pytest.mark.parametrize("path", ["/engine/tarn-30", "/engine/..hill-farm", "/engine/nobody", "/engine/nobody/card"])
def test_shipped_sheets_are_not_changed_and_no_name_leads_elsewhere(page, path):
    assert page.get(path).status_code in (404, 422)


def test_no_other_file_is_touched(page, folder):
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.name != "ferrier-3.yaml"}
    send(page, "first", build__fuel="petrol", bore="3 7/16 in")
    assert page.post("/engines", "/engines", {"name": "../../x"}).status_code in (303, 422)
    assert page.post("/engines", "/engines", {"name": "Ferrier 3"}).status_code == 422
    after = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert {path: after[path] for path in before} == before
    assert {path.parent for path in set(after) - set(before)} <= {folder / "engines"}


def test_markup_in_a_name_or_a_note_is_shown_as_text(page, folder):
    send(page, "build", note="<script>alert(1)</script>")
    for path in ("/engine/ferrier-3", "/engine/ferrier-3/card", "/engines"):
        assert not strange_script(text(page.get(path)))


@pytest.mark.parametrize("name", sheet_ids([SHIPPED]))
def test_every_value_of_a_sheet_is_read_back_from_the_field_of_its_form(name):
    draft = open_draft(find(name, [SHIPPED]), name, [SHIPPED])
    for group in draft.form.groups.values():
        for path, form in group.fields.items():
            value = value_at(draft.plain, path)
            if value is not None:
                made = printed(as_typed(value, form), path, form, {})
                assert made.value == value or float(made.value) == float(value), (path, value)


@pytest.mark.parametrize("name", sheet_ids([SHIPPED]))
def test_a_form_sent_as_it_was_shown_changes_nothing(name, tmp_path):
    path = tmp_path / "engines" / f"{name}.yaml"
    path.parent.mkdir()
    path.write_bytes(find(name, [SHIPPED]).read_bytes())

    def opened():
        return open_draft(path, name, [SHIPPED])

    before = path.read_bytes()
    for group, item in opened().form.groups.items():
        form = {at: text_at(opened(), at) for at in item.fields}
        filled = fill_group(opened, group, {**form, **{f"was.{at}": typed for at, typed in form.items()}})
        assert not filled.back and not filled.said
    assert path.read_bytes() == before
