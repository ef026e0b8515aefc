"""The program's own window, started as always; beside it a file tells what stands where.

    python watched_window.py FILE [arguments of lasernest-window]

Tests read the file to know where to point; they touch the window by the screen's mouse
and keys only.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from PySide6.QtCore import QPoint, QTimer
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QWidget,
)

_KINDS: dict[type[QWidget], str] = {
    QAbstractButton: "button",
    QLineEdit: "field",
    QComboBox: "choice",
    QAbstractItemView: "list",
    QLabel: "words",
}
_EVERY_MS = 60


def _seen(part: QWidget) -> dict[str, Any]:
    corner, size = part.mapToGlobal(QPoint(0, 0)), part.size()
    text = part.text() if isinstance(part, QAbstractButton | QLabel | QLineEdit) else ""
    if isinstance(part, QComboBox):
        text = part.currentText()
    return {
        "kind": next((kind for qt, kind in _KINDS.items() if isinstance(part, qt)), "other"),
        "text": text,
        "name": part.accessibleName(),
        "box": [corner.x(), corner.y(), size.width(), size.height()],
        "enabled": part.isEnabled(),
        "keys": part.hasFocus(),
    }


def tell(file: Path) -> None:
    """Write what is shown now, in one piece."""
    parts: list[QWidget] = [
        part
        for part in QApplication.allWidgets()
        if part.isVisible()
        and not part.visibleRegion().isEmpty()
        and (isinstance(part, tuple(_KINDS)) or part.accessibleName())
    ]
    active = QApplication.activeWindow()
    told = {
        "titles": [w.windowTitle() for w in QApplication.topLevelWidgets() if w.isVisible()],
        "active": active.windowTitle() if active is not None else "",
        "parts": [_seen(part) for part in parts],
    }
    beside = file.with_suffix(".part")
    beside.write_text(json.dumps(told))
    beside.replace(file)


def main() -> None:
    """Start the window and tell of it until it ends."""
    from lasernest.gui.main import main as start

    file = Path(sys.argv[1])
    run = QApplication.exec

    def watched() -> int:
        timer = QTimer()
        timer.timeout.connect(lambda: tell(file))
        timer.start(_EVERY_MS)
        return run()

    QApplication.exec = staticmethod(watched)  # type: ignore[method-assign]
    start(sys.argv[2:])


if __name__ == "__main__":
    main()
