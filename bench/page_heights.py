"""How long each page of a job is on a phone of 360 points: what one scrolls through with a thumb.

Four worked cases, one of them promised, opened up and with a change since, in a headless Chromium against a server on
the loopback address. Lines that open are shut, as they come. Papers, which are printed, are named and not counted.

Usage: python bench/page_heights.py [MOST]   (default 2000: what is longer is marked)
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from howdeep.assessment.session import open_shop
from howdeep.web.app import create_app
from tests.pages import browser, heights, served
from tests.working_day import DAY, PAPERS, folder_of_a_day, pages_of_a_day


def main() -> int:
    """Print the heights, the longest first; 1 where a page of the working day is too long."""
    most, long = int(sys.argv[1]) if len(sys.argv) > 1 else 2000, 0
    with tempfile.TemporaryDirectory() as kept:
        shop = open_shop(example_prices=True)
        folder = folder_of_a_day(Path(kept), shop)
        with served(create_app(folder, shop)) as base, browser(360, 740) as window:
            found = heights(window, base, pages_of_a_day(folder))
            papers = heights(window, base, [f"/job/job-0{end}" for end in PAPERS])
    for path, tall in sorted(found.items(), key=lambda item: -item[1]):
        mark = "  longer" if tall > most else ""
        long += tall > most
        print(f"{tall:6} {path}{mark}")
    print(f"{len(found)} pages of a day ({len(DAY)} kinds), {long} of them longer than {most} points.")
    for path, tall in papers.items():
        print(f"{tall:6} {path}  a paper")
    return bool(long)


if __name__ == "__main__":
    raise SystemExit(main())
