"""The house has three floors: an import only ever points down, and Qt stays on the top one."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
QT = {"PySide6", "shiboken6", "pyqtgraph"}
FORBIDDEN = {
    "symbols": {"analysis", "editor"} | QT,
    "analysis": {"editor"} | QT,
    "sample_circuits": {"symbols", "analysis", "editor"} | QT,
}


def find_imports(path: Path) -> list[tuple[int, str]]:
    """Every import of a file, wherever in it: line number and full module name."""
    package = path.relative_to(ROOT).parent.parts
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), filename=str(path))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join([*above, *filter(None, [node.module])])
            found.append((node.lineno, module))
            # `from .. import editor` names the module only after the word import.
            found += [(node.lineno, f"{module}.{alias.name}".strip(".")) for alias in node.names]
        elif isinstance(node, ast.Call) and _called_name(node) in {"import_module", "__import__"}:
            found += [
                (node.lineno, argument.value)
                for argument in node.args[:1]
                if isinstance(argument, ast.Constant) and isinstance(argument.value, str)
            ]
    return found


def _called_name(call: ast.Call) -> str:
    """The last word of what is called: `import_module` of `importlib.import_module(…)`."""
    return getattr(call.func, "attr", None) or getattr(call.func, "id", "")


@pytest.mark.parametrize("package", FORBIDDEN)
def test_no_import_points_up(package: str) -> None:
    """No file of the package imports a floor above it, nor Qt, not even inside a function."""
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {module}"
        for path in sorted((ROOT / package).rglob("*.py"))
        for line, module in find_imports(path)
        if module.split(".")[0] in FORBIDDEN[package]
    ]
    assert not wrong, "\n".join(wrong)


WITHOUT_QT = """
import importlib, pkgutil, sys
for name in ("PySide6", "shiboken6", "pyqtgraph"):
    sys.modules[name] = None
for package in map(importlib.import_module, ("symbols", "analysis")):
    for module in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        importlib.import_module(module.name)
importlib.import_module("editor.command_line")
"""


def test_lower_floors_and_the_command_line_load_without_qt() -> None:
    """With Qt blocked, every module of symbols and analysis loads, and so do the commands."""
    result = subprocess.run(
        [sys.executable, "-c", WITHOUT_QT], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stderr
