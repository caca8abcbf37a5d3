"""The recorded sitting: one file that needs nothing else, small, still for who asks for that, and what was recorded."""

import importlib.util
import re
import sys
import xml.etree.ElementTree as ElementTree

import pytest

from .places import ROOT

PICTURE = ROOT / "docs" / "pictures" / "sitting.svg"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def script():
    spec = importlib.util.spec_from_file_location("make_sitting", ROOT / "docs" / "make_sitting.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # its dataclasses look themselves up
    spec.loader.exec_module(module)
    return module


def checked(text):
    """The tree of a picture that brings everything along and stands still for who wants no motion (CSS Media Queries 5,
    prefers-reduced-motion)."""
    tree = ElementTree.fromstring(text)
    assert not re.search(r"<script|<image|<foreignObject|@import|url\(|https?://(?!www\.w3\.org/2000/svg)", text)
    assert "@media(prefers-reduced-motion:reduce){.f{animation:none}}" in text
    names = {item.get("id") for item in tree.iter(f"{SVG}text")}
    used = {item.get("href").removeprefix("#") for item in tree.iter(f"{SVG}use")}
    assert used and used <= names
    return tree


def test_the_kept_recording_is_small_and_whole_and_ends_with_an_answer():
    text = PICTURE.read_text(encoding="utf-8")
    assert len(text.encode()) < 300_000
    tree = checked(text)
    told = next(tree.iter(f"{SVG}desc")).text
    assert "The answer now:" in told and "Every answer is in thorne.yaml" in told
    lines = [item.text for item in tree.iter(f"{SVG}text") if item.text]
    assert any(line.startswith("! CAUTION") for line in lines) and any("62 64 60 63 psi" in line for line in lines)


def test_frames_follow_each_other_by_their_time_and_the_last_one_stands_without_animation(script):
    frames = [
        script.Frame(("a < b & c", ""), (0, 2), 1.0),
        script.Frame(("a < b & c", "second"), (1, 6), 3.0),
        script.Frame(("! CAUTION, hot", ""), None, 4.0),
    ]
    text = script.picture(frames)
    tree = checked(text)
    height = script.LINES * script.ROW + 6
    assert f".f{{transform:translateY(-{2 * height}px)" in text
    assert re.findall(r"([\d.]+)%\{transform:translateY\(-(\d+)px\)", text) == [
        ("0.000", "0"),
        ("12.500", str(height)),
        ("50.000", str(2 * height)),
    ]
    assert [item.text for item in tree.iter(f"{SVG}text")][1:] == ["a < b & c", "second", "! CAUTION, hot"]
    alone = script.picture(frames, 1)
    assert "animation" not in alone and "second" in alone and "CAUTION" not in re.sub("<desc.*?</desc>", "", alone)
