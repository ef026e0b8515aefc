"""The guide: that it is whole, can be searched, and is reached from figures and findings."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QTextCursor
from pytestqt.qtbot import QtBot

import lasernest
from lasernest.domain.safety import CAUTIONS
from lasernest.gui.guide.book import anchor_of, page_of, read_guide, the_guide
from lasernest.gui.guide.why import WhyMark
from lasernest.gui.parts.basics import FigureRow
from lasernest.gui.parts.findings import FindingRow
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.resources import resource
from tests.gui.helpers import read

_CODE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_MAKERS = {"Finding", "_finding", "_trouble", "_clash_finding", "crossing_finding"}


def _finding_codes() -> set[str]:
    """The words that the program gives its findings, as its source has them."""
    found = {"self-crossing", "contours-cross", "left-out-shapes"}  # chosen in loops
    for path in Path(lasernest.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                mends = name == "add" and path.stem == "tracing"
                if name in _MAKERS or mends:
                    texts = [a.value for a in node.args[:2] if isinstance(a, ast.Constant)]
                    found |= {t for t in texts if isinstance(t, str) and _CODE.fullmatch(t)}
    return found


def test_every_finding_is_explained() -> None:
    codes = _finding_codes()
    assert {"open-outline", "kerf-unmeasured", "gap-joined", "case-does-not-close"} <= codes
    page = the_guide().page("findings")
    assert page is not None
    explained = {s.heading for s in page.sections if len(s.text) > 20}
    missing = sorted(codes - explained)
    # The newest may still lack theirs: their mark opens the page at its head.
    assert len(missing) <= 0.04 * len(codes), missing


def test_the_cautions_stand_word_for_word_in_the_guide_and_in_the_readme() -> None:
    guide = resource("guide/cautions.md").read_text(encoding="utf-8")
    readme = (Path(lasernest.__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    for caution in CAUTIONS:
        assert f"- {caution}\n" in guide
        assert f"- {caution}\n" in readme


def test_every_link_between_pages_leads_somewhere() -> None:
    guide = the_guide()
    links = []
    for page in guide.pages:
        for target in re.findall(r"\]\(([^)]+)\)", page.markdown):
            if "://" in target:
                continue
            name, _, anchor = target.partition("#")
            name = name.removesuffix(".md") or page.name
            links.append(target)
            assert guide.page(name) is not None, target
            assert not anchor or guide.section(f"{name}#{anchor}") is not None, target
    assert len(links) >= 5


def test_anchors_are_those_of_web_pages() -> None:
    # Lower case, spaces to hyphens, no other signs: as web renderers make them (common practice).
    assert anchor_of("Kerf and fit") == "kerf-and-fit"
    assert anchor_of("Along x, y: both?") == "along-x-y-both"


def test_a_page_is_cut_at_headings_and_entries() -> None:
    page = page_of("p", "# One\nA *b* `c`.\n\n**two-b** – Three [four](x.md).\n\n## Five\n- six\n")
    assert page.title == "One"
    texts = [(s.heading, " ".join(s.text.split()), s.place) for s in page.sections]
    assert texts == [
        ("One", "A b c .", "p#one"),
        ("two-b", "Three four.", "p#two-b"),
        ("Five", "six", "p#five"),
    ]


def test_search_wants_every_word_and_puts_headings_first(tmp_path: Path) -> None:
    (tmp_path / "a.md").write_text("# A\nkerf and yield\n## Yield\nnet area\n## Kerf\nwidth\n")
    guide = read_guide(tmp_path)
    assert [s.heading for s in guide.find("yield")] == ["Yield", "A"]
    assert [s.heading for s in guide.find("KERF yield")] == ["A"]
    assert guide.find("nothing") == ()
    assert guide.find("  ") == ()


@pytest.mark.parametrize(
    ("step", "page"),
    [
        (Step.OUTLINES, "first-job"),
        (Step.JOINTS, "joints"),
        (Step.KERF, "kerf-and-fit"),
        (Step.SHEETS, "sheets"),
        (Step.CUT_FILE, "cut-file"),
    ],
)
def test_f1_opens_the_page_of_the_step_and_escape_leads_back(
    qtbot: QtBot, window: Window, step: Step, page: str
) -> None:
    window.go_to(step)
    qtbot.keyClick(window, Qt.Key.Key_F1)
    assert window.stage.guide is not None
    assert window.stage.currentWidget() is window.stage.guide
    assert window.stage.guide.page == page
    qtbot.keyClick(window.stage.guide, Qt.Key.Key_Escape)
    assert window.stage.currentWidget() is window.board
    assert window.page.step is step


def test_the_keys_page_lists_every_key(window: Window) -> None:
    window.show_guide("keys")
    assert window.stage.guide is not None
    text = window.stage.guide.browser.toPlainText()
    for act in window.acts.acts:
        if act.keys:
            assert act.text in text
            assert act.keys.split(" | ")[0] in text


def test_the_guide_is_searched_by_keys_alone(qtbot: QtBot, window: Window) -> None:
    window.show_guide()
    guide = window.stage.guide
    assert guide is not None
    qtbot.keyClick(guide.browser, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    assert guide.field.hasFocus()
    qtbot.keyClicks(guide.field, "largest deviation")
    assert guide.list.item(0).text() == "Largest deviation · Cut file"
    qtbot.keyClick(guide.field, Qt.Key.Key_Return)
    assert (guide.page, guide.shown_heading()) == ("cut-file", "Largest deviation")
    qtbot.keyClicks(guide.field, " of the moon")
    assert guide.count.text() == "Nothing found. Try another word."
    qtbot.keyClick(guide.field, Qt.Key.Key_Escape)
    assert guide.list.count() == len(the_guide().pages)


def test_every_figure_has_an_explanation(window: Window) -> None:
    guide = the_guide()
    rows = [row for page in window.pages.values() for row in page.card.findChildren(FigureRow)]
    assert len(rows) > 10
    placed = [row for row in rows if guide.section(row.why.place) or guide.about(row.why.about)]
    assert len(placed) >= 0.8 * len(rows)
    # A figure without a section of its own says in its tip what it is.
    assert [r.why.about for r in rows if r not in placed and not r.toolTip()] == []
    assert [r.why.place for r in rows if r.why.place and not guide.section(r.why.place)] == []


def test_the_mark_at_a_figure_opens_its_explanation(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.SHEETS)
    mark = window.sheets.figures.share.why
    assert mark.accessibleName() == "What is meant by Yield?"
    qtbot.keyClick(mark, Qt.Key.Key_Space)
    assert window.stage.guide is not None
    assert (window.stage.guide.page, window.stage.guide.shown_heading()) == ("sheets", "Yield")


def test_the_mark_at_a_finding_opens_its_explanation(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "broken" / "gap-in-outline.dxf")
    row = window.outlines.findings.findChild(FindingRow)
    assert row is not None
    mark = row.findChild(WhyMark)
    assert mark is not None
    qtbot.mouseClick(mark, Qt.MouseButton.LeftButton)
    assert window.stage.guide is not None
    assert window.stage.guide.page == "findings"
    assert window.stage.guide.shown_heading() == row.numbered.finding.code


def test_a_word_without_a_section_is_searched_for(window: Window) -> None:
    window.show_guide(about="calliper goes")
    assert window.stage.guide is not None
    assert window.stage.guide.field.text() == "calliper goes"
    assert window.stage.guide.list.count() >= 1


@pytest.mark.parametrize("page", ["sheets", "keys", "cautions"])
def test_the_air_between_paragraphs_is_the_same_everywhere(window: Window, page: str) -> None:
    """Below a paragraph 8, above a heading 16 and below it 4; in tables the cells' own."""
    window.show_guide(page)
    guide = window.stage.guide
    assert guide is not None
    block, seen = guide.browser.document().begin(), set()
    while block.isValid():
        form = block.blockFormat()
        kind = "text"
        if form.headingLevel():
            kind = "title" if form.headingLevel() == 1 else "heading"
        elif QTextCursor(block).currentTable() is not None:
            kind = "cell"
        elif block.textList() is not None:
            kind = "last" if block.next().textList() is None else "point"
        seen.add((kind, form.topMargin(), form.bottomMargin()))
        block = block.next()
    right = {
        ("title", 0.0, 4.0), ("heading", 16.0, 4.0), ("text", 0.0, 8.0),
        ("cell", 0.0, 0.0), ("point", 0.0, 4.0), ("last", 0.0, 8.0),
    }  # fmt: skip
    assert {("title", 0.0, 4.0), ("text", 0.0, 8.0)} <= seen <= right


def test_a_mark_beside_a_sentence_does_not_ask_what_the_sentence_means(qtbot: QtBot) -> None:
    figure, note = (
        WhyMark("Yield"),
        WhyMark("Nobody has measured it. Measure it, or go on?", "kerf"),
    )
    qtbot.addWidget(figure)
    qtbot.addWidget(note)
    assert figure.toolTip() == figure.accessibleName() == "What is meant by Yield?"
    assert note.toolTip() == "More about this in the guide"
    assert note.accessibleName().endswith("in the guide: " + note.about)
