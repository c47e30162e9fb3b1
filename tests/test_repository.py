"""The repository keeps its shape: few entries at the top, short files, nothing of one machine."""

import fnmatch
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "editor",
    "analysis",
    "symbols",
    "tests",
    "sample_circuits",
}
MOST_LINES = 450
TEXT_SUFFIXES = {"", ".py", ".md", ".toml", ".json", ".html", ".css", ".svg", ".csv", ".txt"}
# A path that exists on one person's machine only, not preceded by a word (as in and/or).
MACHINE_PATH = re.compile(r"(?<![\w.~-])/(?:work|tmp|root|home|Users)\b|[A-Z]:\\Users\b")


def ignored_patterns() -> list[str]:
    """The patterns of .gitignore, without the slash that marks a folder."""
    lines = (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()
    return [line.rstrip("/") for line in lines if line and not line.startswith("#")]


def is_ignored(path: Path) -> bool:
    """Whether git would not see the path, going by the names of the folders on the way to it."""
    parts = path.relative_to(ROOT).parts
    return any(fnmatch.fnmatch(part, pattern) for part in parts for pattern in ignored_patterns())


def find_kept_files() -> list[Path]:
    """Every file of the work tree that belongs to the project."""
    tops = [top for top in ROOT.iterdir() if top.name != ".git" and not is_ignored(top)]
    files = [top for top in tops if top.is_file()]
    files += [path for top in tops if top.is_dir() for path in top.rglob("*") if path.is_file()]
    return sorted(path for path in files if not is_ignored(path))


def test_top_level_holds_only_the_agreed_entries() -> None:
    """Beside dot-files nothing stands at the top but what DEVELOPERS.md lists."""
    found = {top.name for top in ROOT.iterdir() if not top.name.startswith(".")}
    assert {name for name in found if not is_ignored(ROOT / name)} == TOP_LEVEL


def test_no_file_names_a_path_of_one_machine() -> None:
    """What is kept works wherever it is cloned to."""
    wrong = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        for path in find_kept_files()
        if path.suffix in TEXT_SUFFIXES
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if MACHINE_PATH.search(line)
    ]
    assert not wrong, "\n".join(wrong)


def test_python_files_stay_short() -> None:
    """A file that grows past the limit holds more than one idea: split it."""
    lengths = {
        path.relative_to(ROOT): len(path.read_text(encoding="utf-8").splitlines())
        for path in find_kept_files()
        if path.suffix == ".py"
    }
    assert lengths
    assert not {str(path): lines for path, lines in lengths.items() if lines > MOST_LINES}
