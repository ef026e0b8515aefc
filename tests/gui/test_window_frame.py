"""A window keeps to the screen, and says what a drop would do before it is let go."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from lasernest.gui.window import Window
from lasernest.gui.window_frame import what_becomes_of


def test_what_a_drop_would_do_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "case"
    folder.mkdir()
    told = {
        what_becomes_of([Path("a.dxf")])[0],
        what_becomes_of([Path("a.dxf"), Path("b.SVG"), Path("c.svg")])[0],
        what_becomes_of([Path("drawer.lasernest")])[0],
        what_becomes_of([folder])[0],
    }
    assert told == {
        "Let go to add a.dxf",
        "Let go to add 3 drawings",
        "Let go to open drawer",
        "Let go to add the drawings of case",
    }
    assert what_becomes_of([Path("a.dxf"), Path("photo.png")])[1:] == (
        "Probably no drawing: photo.png. Drawings are DXF or SVG files.",
        True,
    )
    assert what_becomes_of([Path("photo.png")]) == (
        "photo.png does not end in .dxf or .svg",
        "Drawings are DXF or SVG files.",
        False,
    )
    two = [Path("a.png"), Path("b.txt")]
    assert what_becomes_of(two)[0] == "None of these ends in .dxf or .svg"


def _data(*paths: Path) -> QMimeData:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(p)) for p in paths])
    return data


def _enter(data: QMimeData) -> QDragEnterEvent:
    none = Qt.KeyboardModifier.NoModifier
    return QDragEnterEvent(
        QPoint(300, 300), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, none
    )


def test_the_board_shows_a_sign_while_files_hover(window: Window, sample_panels: Path) -> None:
    data = _data(sample_panels / "clock-feet.svg")
    sign = window.drop_sign
    assert not sign.isVisible()
    window.dragEnterEvent(_enter(data))
    assert sign.isVisible()
    assert sign.accessibleName() == "Let go to add clock-feet.svg"
    assert sign.geometry().size() == window.stage.size()
    window.dragLeaveEvent(QDragLeaveEvent())
    assert not sign.isVisible()
    window.dragEnterEvent(_enter(data))
    taken: list[list[Path]] = []
    window.take_files = taken.append  # type: ignore[method-assign]
    window.dropEvent(
        QDropEvent(
            QPointF(300, 300),
            Qt.DropAction.CopyAction,
            data,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
    )
    assert not sign.isVisible()
    assert taken == [[sample_panels / "clock-feet.svg"]]


def test_text_that_hovers_is_no_file(window: Window) -> None:
    data = QMimeData()
    data.setText("hello")
    window.dragEnterEvent(_enter(data))
    assert not window.drop_sign.isVisible()


def test_a_window_larger_than_the_screen_is_made_to_fit(qtbot: QtBot, window: Window) -> None:
    window.hide()
    window.resize(1000, 3000)
    window.show()
    QApplication.sendEvent(window, QEvent(QEvent.Type.ActivationChange))
    room = window.screen().availableGeometry()
    qtbot.waitUntil(lambda: window.frameGeometry().bottom() <= room.bottom(), timeout=5_000)
    assert window.frameGeometry().top() >= room.top()
    assert window.height() >= window.minimumHeight()


def test_files_are_copied_even_where_moving_is_proposed(
    window: Window, sample_panels: Path
) -> None:
    """File managers propose to move within a disk, and the source may delete what was moved."""
    data = _data(sample_panels / "clock-feet.svg")
    window.take_files = lambda paths: None  # type: ignore[method-assign, assignment]
    both = Qt.DropAction.CopyAction | Qt.DropAction.MoveAction
    button, none = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(300, 300), both, data, button, none)
    drop = QDropEvent(QPointF(300, 300), both, data, button, none)
    enter.setDropAction(Qt.DropAction.MoveAction)
    drop.setDropAction(Qt.DropAction.MoveAction)
    window.dragEnterEvent(enter)
    window.dropEvent(drop)
    for event in (enter, drop):
        assert event.isAccepted()
        assert event.dropAction() is Qt.DropAction.CopyAction
