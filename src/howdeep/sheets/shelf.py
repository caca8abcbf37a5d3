"""Where sheets stand, and the list of them: the shipped ones, the shop's own, and those beside the jobs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..knowledge.engines import SHEETS, find, load_sheet, sheet_ids
from ..knowledge.where import shipped_rules
from ..model.engine import Engine, Fit
from ..model.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Shelved:
    """One sheet of the list."""

    id: str
    path: Path
    owner: str
    """'shipped', 'shop' or 'here': with the program, in the shop's rule folder, beside the jobs."""
    name: str = ""
    kind: str = ""
    """How it is built in a few words: 'petrol, side valves, farm'."""
    cylinders: int = 0
    bore: str = ""
    assumed: int = 0
    """Words that nobody has looked up."""
    fault: str = ""
    """Why it cannot be used; empty where it can."""


def shelf(folders: Sequence[Path], beside: Path | None) -> list[Shelved]:
    """Every sheet that a job standing in `beside` could name, by id."""
    found = []
    for name in sheet_ids(folders, beside):
        path = find(name, folders, beside)
        owner = _owner(path, beside)
        try:
            engine = load_sheet(path, folders).engine
        except HowdeepError as error:
            count = len(error.faults)
            found.append(Shelved(name, path, owner, fault=f"{count} fault{'s' * (count > 1)}"))
            continue
        found.append(
            Shelved(
                name,
                path,
                owner,
                engine.name,
                kind_words(engine),
                engine.build.cylinders,
                bore_words(engine.bore),
                len(engine.assumed),
            )
        )
    return found


def _owner(path: Path, beside: Path | None) -> str:
    if beside is not None and path.parent == beside / SHEETS:
        return "here"
    return "shipped" if path.parent == shipped_rules() / SHEETS else "shop"


def kind_words(engine: Engine) -> str:
    """'petrol, side valves, farm'."""
    build = engine.build
    valves = {"side_valve": "side valves", "overhead_valve": "overhead valves"}[build.layout]
    return f"{build.fuel}, {valves}, {build.use.replace('_', ' ')}"


def bore_words(bore: Fit) -> str:
    """The bore of the list: its low figure; empty where nobody knows it."""
    return bore.low or bore.high


def new_sheet_folder(folders: Sequence[Path], here: Path) -> Path:
    """Where a new sheet is put: the shop's rule folder where there is one, else `engines` beside the jobs."""
    own = [folder for folder in folders if Path(folder) != shipped_rules()]
    return (Path(own[-1]) if own else here) / SHEETS


def shelved_path(name: str, folders: Sequence[Path], here: Path) -> Path:
    """The file of a sheet by its id, by the name of its engine, or a path. Raises HowdeepError with the nearest."""
    if name.endswith(".yaml"):
        path = Path(name)
        if not path.exists():
            raise HowdeepError(Fault(name, 0, 0, "there is no such file"))
        return path
    for item in shelf(folders, here):
        if item.name and item.name.lower() == name.lower():
            return item.path
    return find(name, folders, here)
