"""The wheel carries rules and cases, and an installed howdeep runs its demo from any folder."""

import subprocess
import sys
import zipfile

from .places import ROOT


def run(*command, **options):
    done = subprocess.run(command, capture_output=True, text=True, timeout=600, **options)
    assert done.returncode == 0, f"{command}\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}"
    return done


def test_an_installed_wheel_runs_the_demo_in_an_empty_environment(tmp_path):
    run(sys.executable, "-m", "build", "--wheel", "--outdir", str(tmp_path / "dist"), str(ROOT))
    (wheel,) = (tmp_path / "dist").glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert any(name.startswith("howdeep/_shipped/rules/findings/") for name in names)
    assert any(name.startswith("howdeep/_shipped/cases/") for name in names)
    assert any(name.startswith("howdeep/_shipped/rules/engines/") for name in names)
    assert any(name.startswith("howdeep/_shipped/cases/handbooks/") for name in names)
    assert "howdeep/py.typed" in names
    run(sys.executable, "-m", "venv", "--without-pip", str(tmp_path / "empty"))
    python = next(
        path for path in (tmp_path / "empty/bin/python", tmp_path / "empty/Scripts/python.exe") if path.exists()
    )
    run(sys.executable, "-m", "pip", "--python", str(python), "install", "--quiet", "--no-compile", str(wheel))
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shown = run(
        str(python.parent / "howdeep"),
        "demo",
        cwd=elsewhere,
        env={"PATH": "", "HOME": str(elsewhere), "HOWDEEP_CACHE": str(tmp_path / "cache")},
    ).stdout
    assert "NEXT" in shown and "WHY" in shown and "howdeep assess" in shown
    assert max(len(line) for line in shown.splitlines() if str(tmp_path) not in line) <= 80  # a path is not broken
