"""What lines are for, changed in the window; drawings read again with answers."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.drawing import LineUse
from lasernest.domain.panel_changes import Change, PanelChange
from lasernest.domain.panels import MarkKind, Panel
from lasernest.gui import redrawer as redrawer_module
from lasernest.gui.look.signs import State
from lasernest.gui.parts.basics import Text
from lasernest.gui.parts.change_list import BeforeAndAfter, ChangeList, ChangeRow
from lasernest.gui.parts.notes import NoteBox
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import Job
from lasernest.services.workbench import Workbench
from tests.gui.helpers import arrange, read, wait_for
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


def test_layers_beyond_the_first_forty_are_shown_when_asked_for(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    circles = [f"CIRCLE 8 L{i:02} 10 {20 * i} 20 20 40 5" for i in range(90)]
    read(qtbot, window, write(tmp_path, dxf_text(*circles), "many.dxf"))
    table = window.outlines.line_uses
    table.open()
    for shown, asked in ((40, "Show 40 more"), (80, "Show 10 more")):
        assert len(table.fields) == shown
        (more,) = [b for b in table.findChildren(QPushButton) if b.text() == asked]
        more.click()
    assert len(table.fields) == 90
    table.fields[("many.dxf", "L89")].pick(LineUse.IGNORE)
    wait_for(qtbot, window, "import")
    assert len(window.desk.job.panels) == 89
    assert len(table.fields) == 90


def test_layers_alike_but_for_a_number_are_told_apart(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    layers = [f"front-plate-{n}-with-holes-and-slots" for n in range(3)]
    circles = [f"CIRCLE 8 {layer} 10 {20 * n} 20 20 40 5" for n, layer in enumerate(layers)]
    read(qtbot, window, write(tmp_path, dxf_text(*circles), "plates.dxf"))
    window.resize(1280, 800)
    table = window.outlines.line_uses
    table.open()
    texts = {text.text(): text for text in table.findChildren(Text)}
    for layer in layers:
        name = texts[layer]  # in full, in as many lines as that takes
        qtbot.waitUntil(lambda name=name: name.height() >= name.heightForWidth(name.width()) > 0)


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


def test_the_line_of_layers_names_colours_only_where_there_are_some(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    uncoloured = _RING.replace(" 62 1", "")
    read(qtbot, window, write(tmp_path, dxf_text(_PLATE, uncoloured), "plate.dxf"))
    table = window.outlines.line_uses
    assert table._head.text().endswith(": 2 layers")
    read(qtbot, window, write(tmp_path, dxf_text(_PLATE, _RING), "ring.dxf"))
    assert table._head.text().endswith(": 2 layers, 1 colour")


def test_lines_are_told_in_plain_words_that_have_room(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    marks = ["LINE 8 SCORE 10 20 20 50 11 80 21 50", "LINE 8 notes 10 0 20 90 11 99 21 90"]
    read(qtbot, window, write(tmp_path, dxf_text(_PLATE, _RING, *marks), "plate.dxf"))
    table = window.outlines.line_uses
    table.open()
    shown = {name: field.currentText() for (_, name), field in table.fields.items()}
    assert (shown["SCORE"], shown["notes"]) == ("usual: score", "usual: leave out")
    window.grab()
    assert all(field.shown_text() == field.currentText() for field in table.fields.values())


def test_colours_have_names(qtbot: QtBot, window: Window, tmp_path: Path) -> None:
    read(qtbot, window, _two_colours(tmp_path))
    (asked,) = [n for n in window.outlines._numbered if n.finding.code == "colours-differ"]
    assert asked.finding.message.startswith("The lines that cut have 2 colours: black (1), red (1)")
    labels = [choice.label for choice in asked.finding.choices]
    assert labels[0] == "cut all of them"
    assert labels[-3:] == ["score red", "engrave red", "leave red out"]


def test_an_answer_about_colours_is_taken_and_kept(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    read(qtbot, window, _two_colours(tmp_path))
    (asked,) = [n for n in window.outlines._numbered if n.finding.code == "colours-differ"]
    wanted = next(c for c in asked.finding.choices if c.value == "#ff0000=engrave")
    window.outlines.findings.answered.emit(asked.number, wanted, False)
    wait_for(qtbot, window, "import")
    assert [m.kind for m in window.desk.job.panels[0].panel.marks] == [MarkKind.ENGRAVE]
    (source,) = window.desk.job.sources
    assert len(source.digest) == 64
    assert source.choices.uses.colours == (("#ff0000", LineUse.ENGRAVE),)
    assert not [f for f in source.findings if f.code == "colours-differ"]


_OTHER = "LWPOLYLINE 8 PLATE 90 4 70 1 10 200 20 0 10 260 20 0 10 260 20 60 10 200 20 60"


def _change_on_disk(qtbot: QtBot, window: Window, path: Path, text: str) -> None:
    """Save as many programs do: a new file put in the old one's place."""
    wait_for(qtbot, window, "look")
    beside = path.with_name("beside.tmp")
    beside.write_text(text, encoding="utf-8", newline="")
    beside.replace(path)
    qtbot.waitUntil(lambda: bool(window.desk.redrawer.news), timeout=20_000)


def _changed_note(window: Window) -> list[NoteBox]:
    boxes = window.outlines.card.findChildren(NoteBox)
    return [b for b in boxes if b.note.heading == "A drawing changed on disk" and b.isVisible()]


def test_a_drawing_changed_on_disk_is_seen_shown_and_taken_in(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    path = write(tmp_path, dxf_text(_PLATE, _OTHER), "plate.dxf")
    read(qtbot, window, path)
    first, second = (p.name for p in window.desk.job.panels)
    window.outlines.list.choose([first])
    qtbot.keyClicks(window.outlines.list, "3")
    _change_on_disk(qtbot, window, path, dxf_text(_PLATE, _RING, _OTHER))

    (news,) = window.desk.redrawer.news
    assert [(c.change, c.name) for c in news.changes] == [
        (Change.CHANGED, first),
        (Change.SAME, second),
    ]
    (note,) = _changed_note(window)
    assert note.note.text == "plate.dxf: 1 panel changed."
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "1 question"
    (row,) = [r for r in window.outlines.changes.findChildren(ChangeRow) if r.isVisible()]
    (picture,) = row.findChildren(BeforeAndAfter)
    colours = picture.grab().toImage()
    seen = {
        colours.pixelColor(x, y).name()
        for x in range(colours.width())
        for y in range(colours.height())
    }
    assert len(seen) > 2  # ground, old and new lines

    window.desk.redrawer.take_in(news)
    assert len(window.desk.job.panel(first).panel.inner) == 1
    assert window.desk.job.panel(first).quantity == 3
    assert _changed_note(window) == []
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "done"
    window.desk.undo()
    assert window.desk.job.panel(first).panel.inner == ()


def test_only_what_changed_is_planned_or_the_drawing_is_let_be(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    path = write(tmp_path, dxf_text(_PLATE, _OTHER), "plate.dxf")
    read(qtbot, window, path)
    _change_on_disk(qtbot, window, path, dxf_text(_PLATE, _RING, _OTHER))
    window.desk.redrawer.take_in(window.desk.redrawer.news[0], only_changed=True)
    assert [p.quantity for p in window.desk.job.panels] == [1, 0]
    _change_on_disk(qtbot, window, path, dxf_text(_PLATE))
    job = window.desk.job
    window.desk.redrawer.let_be(window.desk.redrawer.news[0])
    window.desk.redrawer.look()
    wait_for(qtbot, window, "look")
    assert (window.desk.redrawer.news, window.desk.job) == ((), job)


def test_a_cut_file_of_a_drawing_that_changed_is_not_called_done(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    path = write(tmp_path, dxf_text(_PLATE), "plate.dxf")
    read(qtbot, window, path)
    window.settings.search_seconds = 0.0
    arrange(qtbot, window)
    window.go_to(Step.CUT_FILE)
    window.desk.write_cut_files(tmp_path / "cut.dxf")
    wait_for(qtbot, window, "write")
    tile = window.tiles.tiles[Step.CUT_FILE]
    assert tile.shown.state is State.DONE
    _change_on_disk(qtbot, window, path, dxf_text(_PLATE, _RING))
    assert (tile.shown.state, tile.shown.word) == (State.QUESTION, "outdated?")
    assert tile.shown.rests_on == "1 drawing changed since"
    (note,) = window.cut_file.notes.notes()
    assert note.text == "plate.dxf changed on disk; this cut file is of the drawing before."
    note.answers[0].act()
    assert window.page is window.outlines
    window.desk.redrawer.let_be(window.desk.redrawer.news[0])
    assert tile.shown.state is State.DONE


def test_a_changed_drawing_that_cannot_be_read_is_told_and_the_job_stays(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    path = write(tmp_path, dxf_text(_PLATE), "plate.dxf")
    read(qtbot, window, path)
    wait_for(qtbot, window, "look")
    job = window.desk.job
    path.write_text("<html></html>")
    qtbot.waitUntil(lambda: bool(window.desk.troubles), timeout=20_000)
    assert window.desk.troubles[0].what == "plate.dxf changed on disk"
    assert window.desk.job is job
    # Once it can be read again the error is told no more, only what changed.
    write(tmp_path, dxf_text(_PLATE, _RING), "plate.dxf")
    qtbot.waitUntil(lambda: bool(window.desk.redrawer.news), timeout=20_000)
    assert window.desk.troubles == ()
    path.write_text("<html></html>")
    qtbot.waitUntil(lambda: bool(window.desk.troubles), timeout=20_000)
    window.desk.undo()  # without the drawing it does not matter
    assert window.desk.job.sources == ()
    assert window.desk.troubles == ()
    assert window.tiles.tiles[Step.OUTLINES].shown.state is State.NOTHING


def _told(window: Window) -> list[str]:
    return [note.text for note in window.outlines.notes.notes()]


def test_a_drawing_that_is_gone_is_told_until_it_is_back(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    folder = tmp_path / "stick" / "case"
    folder.mkdir(parents=True)
    text = dxf_text(_PLATE)
    paths = [write(folder, text, "plate.dxf"), write(folder, text, "lid.dxf")]
    read(qtbot, window, *paths)
    wait_for(qtbot, window, "look")
    job = window.desk.job
    paths[0].unlink()
    said = "plate.dxf is gone from its folder; the job keeps its panels."
    qtbot.waitUntil(lambda: _told(window) == [said], timeout=20_000)
    assert window.tiles.tiles[Step.OUTLINES].shown.state is State.DONE
    shutil.rmtree(folder.parent)
    both = "plate.dxf, lid.dxf are gone from their folders; the job keeps their panels."
    qtbot.waitUntil(lambda: _told(window) == [both], timeout=20_000)
    folder.mkdir(parents=True)
    write(folder, text, "plate.dxf")
    said = said.replace("plate", "lid")
    qtbot.waitUntil(lambda: _told(window) == [said], timeout=20_000)
    assert window.desk.job is job
    window.outlines.notes.notes()[0].answers[0].act()
    assert _told(window) == []
    window.desk.redrawer.look()
    wait_for(qtbot, window, "look")
    assert _told(window) == []
    write(folder, text, "lid.dxf")
    qtbot.waitUntil(lambda: window.desk.redrawer._gone == frozenset(), timeout=20_000)
    paths[1].unlink()  # once it was back, it is told again
    qtbot.waitUntil(lambda: _told(window) == [said], timeout=20_000)
    window.desk.undo()  # without its drawings
    assert window.desk.redrawer.gone == ()
    assert said not in _told(window)


def test_an_export_that_deletes_and_writes_anew_is_not_told_as_gone(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    path = write(tmp_path, dxf_text(_PLATE), "plate.dxf")
    read(qtbot, window, path)
    wait_for(qtbot, window, "look")
    redrawer, shown = window.desk.redrawer, []
    redrawer.news_changed.connect(lambda: shown.append((redrawer.gone, len(redrawer.news))))
    path.unlink()
    qtbot.waitUntil(lambda: bool(redrawer._missing_since_s), timeout=20_000)  # it was looked at
    write(tmp_path, dxf_text(_PLATE, _RING), "plate.dxf")
    qtbot.waitUntil(lambda: bool(redrawer.news), timeout=20_000)
    wait_for(qtbot, window, "look")
    assert shown == [((), 1)]
    assert redrawer._missing_since_s == {}


def test_a_job_opened_without_its_drawings_says_nothing_of_them(
    qtbot: QtBot, window: Window, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(redrawer_module, "GONE_AFTER_S", 0.0)
    path = write(tmp_path, dxf_text(_PLATE), "plate.dxf")
    read(qtbot, window, path)
    job = window.desk.job
    window.desk.undo()
    wait_for(qtbot, window, "look")
    path.unlink()
    other = Window(Workbench(), Settings(tour_seen=True))
    qtbot.addWidget(other)
    other.desk.workbench.new(job)
    wait_for(qtbot, other, "look")
    other.desk.redrawer.look()
    wait_for(qtbot, other, "look")
    assert _told(other) == []
    other.desk.workbench.new(Job())
    other.close()


def test_many_changes_come_row_by_row_in_their_order(qtbot: QtBot) -> None:
    def plate(k: int, size: float) -> Panel:
        return Panel.of(f"plate-{k}", Contour.rectangle(20.0 * k, 0.0, size, size))

    changes = [
        PanelChange(
            Change.CHANGED if k % 3 else Change.SAME, f"plate-{k}", plate(k, 9), plate(k, 8)
        )
        for k in range(30)
    ]
    shown = ChangeList()
    qtbot.addWidget(shown)
    shown.show_changes(changes)
    at_once = [row.change for row in shown.findChildren(ChangeRow)]
    assert len(at_once) == 1
    others = [change for change in changes if change.change is Change.CHANGED]
    qtbot.waitUntil(lambda: len(shown.findChildren(ChangeRow)) == 12)
    column = shown.layout()
    assert column is not None
    rows = [column.itemAt(k).widget() for k in range(column.count())]
    assert [row.change for row in rows[:12] if isinstance(row, ChangeRow)] == others[:12]
    rest = rows[12]
    assert isinstance(rest, Text)
    assert rest.text() == "8 more changed, 10 panels as before"
    # Others take their place, also while rows are still to come.
    shown.show_changes(changes[:6])
    shown.show_changes(changes[:3])
    qtbot.waitUntil(lambda: column.count() == 3)
