"""What a maker is told: the same everywhere, the command line's words apart."""

from __future__ import annotations

import ast
import pickle
import re
from collections.abc import Iterator
from pathlib import Path

from lasernest.errors import BadDrawingError, Where, advice

PACKAGE = Path(__file__).resolve().parents[2] / "lasernest"
_OPTION = re.compile(r"(?<!-)--[a-z]")
_OPTIONS_OF_THE_WINDOW = ("gui/main.py", "gui/settings_view.py")
"""Where the program's own start is spoken of."""


def _told() -> BadDrawingError:
    return BadDrawingError(
        "an outline has a gap",
        where=Where(file=Path("lid.dxf"), layer="CUT"),
        todo="Let the program close it.",
        on_command_line="--answer gaps=0.1",
    )


def test_only_the_command_line_reads_its_words() -> None:
    error = _told()
    told = "lid.dxf, layer CUT: an outline has a gap. Let the program close it"
    assert str(error) == error.sentence() == f"{told}."
    assert error.sentence(on_command_line=True) == f"{told} (--answer gaps=0.1)."
    assert advice("Close it.", "") == "Close it."


def test_a_helper_sends_them_too() -> None:
    sent = pickle.loads(pickle.dumps(_told()))
    assert sent.sentence(on_command_line=True) == _told().sentence(on_command_line=True)


def _texts_with_options(node: ast.AST) -> Iterator[ast.AST]:
    """Texts with words of the command line that stand anywhere but in their own field."""
    for name, value in ast.iter_fields(node):
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.keyword) and child.arg == "on_command_line":
                continue
            if isinstance(node, ast.Assign) and name == "value" and _names_an_option(node):
                continue
            if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                continue  # a docstring
            if (
                isinstance(child, ast.Constant)
                and isinstance(child.value, str)
                and _OPTION.search(child.value)
            ) or (
                isinstance(child, ast.FormattedValue)
                and isinstance(child.value, ast.Name)
                and child.value.id.endswith("_OPTION")
            ):
                yield child
            elif isinstance(child, ast.AST):
                yield from _texts_with_options(child)


def _names_an_option(node: ast.Assign) -> bool:
    return all(isinstance(t, ast.Name) and t.id.endswith("_OPTION") for t in node.targets)


def test_nothing_but_the_command_line_speaks_of_its_options() -> None:
    files = [
        path
        for path in sorted(PACKAGE.rglob("*.py"))
        if "cli" not in path.relative_to(PACKAGE).parts
        and path.relative_to(PACKAGE).as_posix() not in _OPTIONS_OF_THE_WINDOW
    ]
    assert len(files) > 200
    found = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for path in files
        for node in _texts_with_options(ast.parse(path.read_text("utf-8")))
    ]
    assert found == []
