"""The table of requirements in DEVELOPERS.md names tests that exist."""

import ast
import re
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")


def names_in(path: Path) -> set[str]:
    """The names of a file's test functions."""
    return {node.name for node in ast.parse(path.read_text(encoding="utf-8")).body if isinstance(node, ast.FunctionDef)}


def test_each_line_names_a_test_that_exists() -> None:
    named = NAMED.findall((PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(named) > 50
    missing = [f"{file}::{name}" for file, name in named if name not in names_in(PROJECT / file)]
    assert missing == []
