"""Where the main boxes of ten pages stand, as Chromium measures them; run as a module it keeps them anew.

    python -m tests.boxes [PICTURES]     writes tests/golden/boxes.json, and each page as a picture into a folder

Heights of what holds sentences of the rule base are not kept, for these change with every rule.
"""

import json
import sys
import tempfile
from pathlib import Path

from .places import ROOT

KEPT = ROOT / "tests" / "golden" / "boxes.json"
SIZES = {"desktop": (1280, 900), "phone": (360, 740)}
JOB = "/job/hill-farm"
PAGES = (
    "/",
    "/new",
    f"{JOB}/ask?question=start_cold",
    f"{JOB}/readings",
    JOB,
    f"{JOB}/papers",
    f"{JOB}/promises",
    f"{JOB}/open",
    f"{JOB}/prove",
    f"{JOB}/close",
)
BOXES = {
    "header": "xywh",
    "nav[aria-label=Main]": "xywh",
    "nav.places": "xywh",
    "main": "xyw",
    "main h1": "xywh",
    ".jobcard": "xywh",
    ".verdict": "xyw",
    ".two > :first-child": "xyw",
    "main form": "xyw",
    "main form button": "xwh",
    "ul.jobs": "xyw",
    "footer": "xw",
}
"""Selector (the first that is shown) -> what of its box is kept."""
_MEASURE = """
const found = {};
for (const selector of arguments[0]) {
  const item = [...document.querySelectorAll(selector)].find(one => one.getClientRects().length);
  if (item) { const box = item.getBoundingClientRect();
    found[selector] = {x: box.x + scrollX, y: box.y + scrollY, w: box.width, h: box.height}; }
}
return found;"""
_FONTS = """
const made = document.createElement('span');
made.style.cssText = 'position:absolute;white-space:nowrap;font-size:100px';
document.body.append(made);
const widths = ['--text', '--plain'].map(face => {
  made.style.fontFamily = getComputedStyle(document.documentElement).getPropertyValue(face);
  made.textContent = 'Hollow engine 0123456789';
  return Math.round(made.getBoundingClientRect().width);
});
made.remove();
return widths;"""


def measured(window, base):
    """Page -> box -> figure -> points of the screen."""
    told = {}
    for page in PAGES:
        window.get(base + page)
        boxes = window.execute_script(_MEASURE, list(BOXES))
        told[page] = {name: {figure: round(box[figure]) for figure in BOXES[name]} for name, box in boxes.items()}
    return told


def fonts(window):
    """Widths of a line in the two faces: they tell whether the boxes were kept with the same fonts."""
    return window.execute_script(_FONTS)


def main():
    from howdeep.assessment.session import open_shop
    from howdeep.web.app import create_app

    from .pages import browser, folder_with_case, served

    with tempfile.TemporaryDirectory() as kept:
        app = create_app(folder_with_case(Path(kept)), open_shop(example_prices=True))
        found = {}
        with served(app) as base:
            for size, (width, height) in SIZES.items():
                with browser(width, height) as window:
                    found[size] = measured(window, base)
                    found["fonts"] = fonts(window)
                    for number, page in enumerate(PAGES if len(sys.argv) > 1 else ()):
                        window.get(base + page)
                        picture = Path(sys.argv[1]) / f"{size}-{number}.png"
                        picture.parent.mkdir(parents=True, exist_ok=True)
                        assert window.save_screenshot(str(picture)), picture
    KEPT.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    print(f"written: {KEPT}")


if __name__ == "__main__":
    main()
