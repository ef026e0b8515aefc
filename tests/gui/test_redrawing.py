"""What lines are for, changed in the window; drawings read again with answers."""

from __future__ import annotations

from pathlib import Path

from pytestqt.qtbot import QtBot

from lasernest.domain.drawing import LineUse
from lasernest.domain.panels import MarkKind
from lasernest.gui.window import Window
from tests.gui.helpers import read, wait_for
from tests.unit.exchange.drawings import dxf_text, svg, write

_PLATE = "LWPOLYLINE 8 PLATE 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 60 10 0 20 60"
_RING = "CIRCLE 8 RINGS 62 1 10 50 20 30 40 5"


def _two_colours(tmp_path: Path) -> Path:
    body = (
        '<rect x="10" y="10" width="90" height="60" stroke="#000000"/>'
        '<circle cx="50" cy="40" r="5" stroke="#ff0000"/>'
    )
    return write(tmp_path, svg(body), "plate.svg")


def test_a_layer_is_engraved_undone_and_remembered(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    path = write(tmp_path, dxf_text(_PLATE, _RING), "plate.dxf")
    read(qtbot, window, path)
    table = window.outlines.line_uses
    assert table.isVisibleTo(window)
    table.open()
    assert set(table.fields) >= {("plate.dxf", "PLATE"), ("plate.dxf", "RINGS")}
    window.outlines.list.choose(["plate"])
    qtbot.keyClicks(window.outlines.list, "4")

    table.fields[("plate.dxf", "RINGS")].pick(LineUse.ENGRAVE)
    wait_for(qtbot, window, "import")
    (entry,) = window.desk.job.panels
    assert [mark.kind for mark in entry.panel.marks] == [MarkKind.ENGRAVE]
    assert (entry.panel.inner, entry.quantity) == ((), 4)
    assert table.fields[("plate.dxf", "RINGS")].value() is LineUse.ENGRAVE

    other = write(tmp_path, dxf_text(_PLATE, _RING.replace("40 5", "40 7")), "other.dxf")
    read(qtbot, window, other)
    assert len(window.desk.job.panel("other").panel.marks) == 1

    window.desk.undo()
    window.desk.undo()
    assert window.desk.job.panels[0].panel.marks == ()
    assert len(window.desk.job.panels[0].panel.inner) == 1
    assert table.fields[("plate.dxf", "RINGS")].value() is None


def test_a_colour_is_left_out_and_taken_back(qtbot: QtBot, window: Window, tmp_path: Path) -> None:
    read(qtbot, window, _two_colours(tmp_path))
    table = window.outlines.line_uses
    table.open()
    table.fields[("plate.svg", "#ff0000")].pick(LineUse.IGNORE)
    wait_for(qtbot, window, "import")
    assert window.desk.job.panels[0].panel.inner == ()
    table.fields[("plate.svg", "#ff0000")].pick(None)
    wait_for(qtbot, window, "import")
    assert len(window.desk.job.panels[0].panel.inner) == 1


def test_an_answer_about_colours_is_taken_and_kept(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    read(qtbot, window, _two_colours(tmp_path))
    (asked,) = [n for n in window.outlines._numbered if n.finding.code == "colours-differ"]
    wanted = next(c for c in asked.finding.choices if c.value == "#ff0000=engrave")
    window.outlines.findings.answered.emit(asked.number, wanted)
    wait_for(qtbot, window, "import")
    assert [m.kind for m in window.desk.job.panels[0].panel.marks] == [MarkKind.ENGRAVE]
    (source,) = window.desk.job.sources
    assert len(source.digest) == 64
    assert source.choices.uses.colours == (("#ff0000", LineUse.ENGRAVE),)
    assert not [f for f in source.findings if f.code == "colours-differ"]
