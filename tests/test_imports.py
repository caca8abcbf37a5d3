"""What imports what: nothing points upward, and one module alone knows experta."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "src" / "howdeep"
LEVELS = (
    ("__init__",),
    ("errors", "clock"),
    ("model",),
    ("files", "arrays"),
    ("knowledge",),
    ("job",),
    ("shop",),
    ("readings",),
    ("logic",),
    ("beliefs",),
    ("pricing",),
    ("work",),
    ("decision",),
    ("quote",),
    ("assessment",),
    ("api", "casebook"),
    ("cases", "rulebook"),
    ("interview", "record", "rulecheck", "sheets"),
    ("show",),
    ("terminal", "web"),
    ("cli",),
    ("__main__",),
)
"""From the bottom to the top. A module may import its own level's rooms below and what stands lower, never higher. The
package itself is at the bottom, for all may read its version, and names what stands in `api`, nothing else."""
RANK = {room: rank for rank, level in enumerate(LEVELS) for room in level}


def room_of(module: str) -> str:
    """'howdeep.model.truth' -> 'model'."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "__init__"


def module_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(source: str, module: str, is_package: bool) -> list[tuple[int, str]]:
    """(line, full name) of every module imported anywhere in the source, also inside functions."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                up = module.split(".")[: len(module.split(".")) - node.level + is_package]
                base = ".".join([*up, base] if base else up)
            found += [(node.lineno, f"{base}.{alias.name}") for alias in node.names]
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in ("importlib.import_module", "__import__"):
            text = node.args[0].value if node.args and isinstance(node.args[0], ast.Constant) else "?"
            found.append((node.lineno, str(text)))
    return found


def faults_of(source: str, module: str, is_package: bool = False) -> list[str]:
    """What breaks the order in one module."""
    faults = []
    room = room_of(module)
    if room not in RANK:
        return [f"{module}: the room '{room}' has no level"]
    for line, name in imports_of(source, module, is_package):
        head = name.split(".")[0]
        if head == "experta" and module != "howdeep.logic._experta":
            faults.append(f"{module}:{line} imports experta")
        if head != "howdeep":
            continue
        other = room_of(name)
        if other not in RANK:  # a name taken from the package itself, such as its version
            other = "__init__"
        if room == "__init__" and other == "api":
            continue
        if RANK[other] > RANK[room]:
            faults.append(f"{module}:{line} imports {name} from above")
        elif RANK[other] == RANK[room] and other != room:
            faults.append(f"{module}:{line} imports {name} from beside it")
    return faults


MODULES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=[module_of(path) for path in MODULES])
def test_nothing_is_imported_from_above(path):
    faults = faults_of(path.read_text(encoding="utf-8"), module_of(path), path.name == "__init__.py")
    assert not faults, "\n".join(faults)


def test_the_check_sees_imports_that_point_upward_beside_and_to_experta():
    def faults(source, module="howdeep.logic.forward_chaining", is_package=False):
        return faults_of(source, module, is_package)

    assert faults("from ..decision.recommend import decide")
    assert faults("from howdeep import show")
    assert faults("from .. import web")
    assert faults("def later():\n    import howdeep.cli.show")
    assert faults("import experta.engine")
    assert faults("from experta import Fact")
    assert faults("import importlib\nimportlib.import_module('experta')")
    assert faults("from ..web import app", "howdeep.show", True)
    assert not faults("from .words import plain", "howdeep.show", True)
    assert faults("from .web import app", "howdeep", True)
    assert faults("from .assessment.session import open_shop", "howdeep", True)
    assert not faults("from .api import open_shop", "howdeep", True)
    assert faults("from ..api import open_shop", "howdeep.quote.build")
    assert faults("from ..show import words", "howdeep.unheard.of")
    assert faults("from ..interview import flow", "howdeep.record.score")
    assert not faults("from ..model.truth import Truth\nfrom .order import in_order\nimport numpy")
    assert not faults("import experta", "howdeep.logic._experta")


def test_nothing_in_the_model_imports_anything_but_the_model_and_the_standard_library():
    import sys

    for path in sorted((PACKAGE / "model").glob("*.py")):
        for line, name in imports_of(path.read_text(encoding="utf-8"), module_of(path), path.name == "__init__.py"):
            head = name.split(".")[0]
            assert head in sys.stdlib_module_names or name.startswith("howdeep.model"), f"{path.name}:{line} {name}"


def test_every_module_that_a_copy_of_the_rules_is_keyed_by_is_there():
    from howdeep.knowledge.cache import SHAPED_BY

    assert [part for part in SHAPED_BY if not (PACKAGE / part).is_file()] == []
    assert {f"model/{path.name}" for path in (PACKAGE / "model").glob("*.py")} & set(SHAPED_BY)


def test_every_file_that_the_quick_tests_leave_out_is_there():
    from .conftest import HEAVY, SLOW, TOGETHER

    here = {path.name for path in Path(__file__).parent.glob("test_*.py")}
    assert SLOW | set(HEAVY) | set(TOGETHER) <= here
    assert len(SLOW) < len(here) * 2 / 3


def test_the_day_is_asked_of_the_clock_in_one_place():
    asking = [path for path in PACKAGE.rglob("*.py") if "date.today()" in path.read_text(encoding="utf-8")]
    assert [module_of(path) for path in asking] == ["howdeep.clock"]
