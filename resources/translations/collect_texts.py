"""Collects the window's texts for translators, or brings a translation up to date.

    python resources/translations/collect_texts.py LANGUAGE

writes `lasernest_LANGUAGE.ts` beside this file: every text that the window
passes through `tr` or `count_of`, and the words of its enumerations. Translations
there already stay;
texts that are gone are left out. Edit the file with any editor, or with Qt's
own tool for translators; a translation without `type="unfinished"` is taken.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path
from xml.sax.saxutils import escape

from lasernest.gui.languages import read_texts

HERE = Path(__file__).resolve().parent
PACKAGE = HERE.parent.parent / "lasernest"
GUI = PACKAGE / "gui"
SHOWN_WORDS = (
    "domain/drawing.py",
    "domain/figures.py",
    "domain/findings.py",
    "domain/joints.py",
    "domain/readings.py",
    "domain/stock.py",
)
"""Modules below the window whose enumerations are shown in it."""


def texts_in(tree: ast.AST) -> Iterator[str]:
    """The texts that one module passes to the functions that translate."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef) and any(ast.unparse(b) == "Enum" for b in node.bases):
            for line in node.body:
                value = line.value if isinstance(line, ast.Assign) else None
                if isinstance(value, ast.Constant) and isinstance(value.value, str):
                    yield value.value
        name = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
        if not isinstance(node, ast.Call) or name not in ("tr", "count_of"):
            continue
        given = node.args[1:3] if name == "count_of" else node.args[:1]
        for part in given:
            for leaf in ast.walk(part):
                if isinstance(leaf, ast.Constant) and isinstance(leaf.value, str):
                    yield leaf.value


def all_texts() -> dict[str, str]:
    """Every text of the window, with the module where it stands first."""
    found: dict[str, str] = {}
    for path in (*sorted(GUI.rglob("*.py")), *(PACKAGE / name for name in SHOWN_WORDS)):
        for text in texts_in(ast.parse(path.read_text(encoding="utf-8"))):
            found.setdefault(text, path.relative_to(PACKAGE).as_posix())
    return found


def ts_file(language: str, texts: dict[str, str], known: dict[str, str]) -> str:
    """The file for translators, in the order of the modules."""
    lines = [
        '<?xml version="1.0" encoding="utf-8"?>',
        "<!DOCTYPE TS>",
        f'<TS version="2.1" language="{language}" sourcelanguage="en">',
        "<context>",
        "    <name>lasernest</name>",
    ]
    for text, module in texts.items():
        done = known.get(text, "")
        opened = "<translation>" if done else '<translation type="unfinished">'
        lines += [
            "    <message>",
            f'        <location filename="../../lasernest/{module}"/>',
            f"        <source>{escape(text)}</source>",
            f"        {opened}{escape(done)}</translation>",
            "    </message>",
        ]
    return "\n".join([*lines, "</context>", "</TS>", ""])


def main() -> None:
    """Write the file of one language."""
    if len(sys.argv) != 2:
        sys.exit(f"usage: {Path(sys.argv[0]).name} LANGUAGE, such as de or pt_BR")
    language = sys.argv[1]
    path = HERE / f"lasernest_{language}.ts"
    known = read_texts(path) if path.exists() else {}
    path.write_text(ts_file(language, all_texts(), known), encoding="utf-8")


if __name__ == "__main__":
    main()
