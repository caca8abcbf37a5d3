"""The page's server killed at random moments while devices save: is anything lost that was acknowledged?

The production server runs in a process of its own on the loopback address; three devices save notes into a job each;
then it is killed as by a power cut, and every job is read. Nothing acknowledged may be gone, nothing half written, and
in the end each journal must give its job's file byte for byte.

Usage: python bench/page_kill.py [KILLS] [SEED]   (default 200, 7)
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.over_http import killed_while_saving


def main() -> int:
    """Print what was seen; a loss stops the run with what is gone."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 7
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        seen = killed_while_saving(Path(folder), kills, seed=seed)
    print(
        f"{seen['kills']} kills in {time.perf_counter() - begun:.0f} s (load {os.getloadavg()[0]:.1f}): "
        f"{seen['taken']} notes acknowledged, none lost; {seen['amid']} times a save was in flight at that moment; "
        f"in {seen['beside']} kills processes that reckon stood beside the server."
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
