"""Every question on a phone of 360 points: does any page scroll sideways?

Usage: python bench/page_questions.py [EVERY]   (every so many questions; default all)
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from howdeep.assessment.session import open_shop
from howdeep.web.app import create_app
from tests.pages import browser, folder_with_case, served, wider_than_window


def main() -> int:
    """Print every page that does, and how many of how many do not; 1 where any does."""
    shop = open_shop(example_prices=True)
    names = list(shop.knowledge.observations)[:: int(sys.argv[1]) if len(sys.argv) > 1 else 1]
    bad = 0
    with tempfile.TemporaryDirectory() as kept:
        app = create_app(folder_with_case(Path(kept)), shop)
        with served(app) as base, browser(360, 740) as window:
            for name in names:
                window.get(f"{base}/job/hill-farm/ask?question={name}")
                wide = wider_than_window(window)
                bad += bool(wide)
                if wide:
                    print(f"{name}: {', '.join(wide)}")
    print(f"{len(names) - bad} of {len(names)} questions keep to 360 points")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
