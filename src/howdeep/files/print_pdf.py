"""A self-contained page printed to PDF by a browser that is on this computer, without a window.

No PDF is drawn here: the page's own print style and the browser's own printing give the same paper as printing by hand.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from ..errors import Fault, HowdeepError

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge", "microsoft-edge")
"""Names under which browsers of the Chromium family stand on the search path."""
PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "C:/Program Files/Google/Chrome/Application/chrome.exe",
    "C:/Program Files (x86)/Microsoft/Edge/Application/msedge.exe",
)
"""Where they stand on systems that put no programs on the search path."""
SECONDS = 60.0


def find_browser() -> str | None:
    """The browser to print with: HOWDEEP_BROWSER, else one of the Chromium family; None where there is none."""
    named = os.environ.get("HOWDEEP_BROWSER")
    if named:
        return shutil.which(named)
    found = (shutil.which(name) for name in NAMES)
    return next((path for path in (*found, *PLACES) if path and os.path.exists(path)), None)


def pdf_of(page: str, paper: str = "") -> bytes:
    """The page as printed, on `paper` (Letter, A4 ...; by default the browser's own). Raises HowdeepError where no
    browser is found, or it does not print."""
    browser = find_browser()
    if browser is None:
        named = os.environ.get("HOWDEEP_BROWSER")
        lack = f"there is no program '{named}' (HOWDEEP_BROWSER)" if named else "no browser was found to print with"
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                f"{lack}: --pdf prints with a browser of the Chromium family",
                "install one, name it in HOWDEEP_BROWSER, or write --html and print that",
            )
        )
    with tempfile.TemporaryDirectory(prefix="howdeep-", ignore_cleanup_errors=True) as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.pdf"
        size = f"<style>@page {{ size: {paper}; }}</style></head>" if paper else "</head>"
        source.write_text(page.replace("</head>", size, 1), encoding="utf-8")
        words = [
            browser,
            "--headless",
            "--disable-gpu",
            "--no-pdf-header-footer",
            "--no-first-run",
            "--disable-extensions",
            "--disable-background-networking",
            "--disable-dev-shm-usage",
            f"--user-data-dir={folder}/profile",
            f"--print-to-pdf={target}",
            source.as_uri(),
        ]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            words.insert(1, "--no-sandbox")  # the sandbox of these browsers refuses to run for the superuser
        try:
            done = subprocess.run(words, capture_output=True, timeout=SECONDS, check=False)
            return target.read_bytes()
        except subprocess.TimeoutExpired:
            told = f"did not finish in {SECONDS:g} seconds"
        except FileNotFoundError:
            last = done.stderr.decode(errors="replace").strip().splitlines()[-1:]
            told = f"ended without a paper: {last[0] if last else 'it says nothing'}"
        except OSError as error:
            told = f"cannot be started: {error.strerror or error}"
        raise HowdeepError(Fault("", 0, 0, f"the browser {browser} {told}", "write --html and print that"))
