"""The guide on the board: its pages at the left, with a field to search them, the text beside."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import (
    QDesktopServices,
    QKeyEvent,
    QKeySequence,
    QShortcut,
    QTextBlock,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextLength,
    QTextTable,
    QTextTableFormat,
)
from PySide6.QtWidgets import QFrame, QLineEdit, QListWidget, QListWidgetItem, QTextBrowser

from lasernest.gui.guide.book import Guide, GuidePage, anchor_of
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.menu import Act
from lasernest.gui.parts.basics import Text, button, horizontal, vertical
from lasernest.gui.words import count_of, tr

_PLACE = Qt.ItemDataRole.UserRole
_SIDE = 232
_MEASURE = 640
"""Widest column of text, so that lines stay easy to follow."""


class GuideView(QFrame):
    """The guide, in place of the drawing."""

    back_wanted = Signal()

    def __init__(self, guide: Guide, acts: Sequence[Act]) -> None:
        super().__init__()
        self.setProperty("kind", "card")
        self._guide, self._acts = guide, tuple(acts)
        self._page: GuidePage | None = None
        column = vertical(self, gap=8)
        column.setContentsMargins(16, 12, 12, 12)
        head = horizontal(gap=8)
        head.addWidget(Text(tr("Guide"), size=TextSize.LARGE, strong=True), 1)
        head.addWidget(button(tr("Back to the job"), self.back_wanted.emit, tip="Esc"))
        column.addLayout(head)
        body = horizontal(gap=24)
        side = vertical(gap=8)
        self.field = QLineEdit()
        self.field.setPlaceholderText(tr("Search the guide"))
        self.field.setAccessibleName(tr("Search the guide"))
        self.field.setToolTip(tr("Ctrl+F"))
        self.field.setClearButtonEnabled(True)
        self.field.textChanged.connect(self._fill_list)
        self.field.returnPressed.connect(self._open_first)
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Pages of the guide"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setProperty("kind", "rows")
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.list.itemActivated.connect(self._open_item)
        self.list.itemClicked.connect(self._open_item)
        self.count = Text("", size=TextSize.SMALL, kind="quiet")
        for part in (self.field, self.count):
            side.addWidget(part)
        side.addWidget(self.list, 1)
        body.addLayout(side)
        self.browser = QTextBrowser()
        self.browser.setAccessibleName(tr("Text of the guide"))
        self.browser.setOpenLinks(False)
        self.browser.setFrameShape(QTextBrowser.Shape.NoFrame)
        self.browser.anchorClicked.connect(self._follow)
        body.addWidget(self.browser, 1)
        column.addLayout(body, 1)
        self.setFocusProxy(self.browser)
        search = QShortcut(QKeySequence(QKeySequence.StandardKey.Find), self)
        search.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        search.activated.connect(self.field.setFocus)
        theme.changed.connect(self._dress)
        self._fill_list()
        self._dress()

    # --- what is shown -----------------------------------------------------------------

    @property
    def page(self) -> str:
        """The name of the page that is shown."""
        return self._page.name if self._page else ""

    def open(self, place: str) -> None:
        """Show a page, or a section of it, from `page` or `page#anchor`."""
        name, _, anchor = place.partition("#")
        page = self._guide.page(name) or self._page or self._guide.pages[0]
        if page is not self._page:
            self._page = page
            self._show_text()
            self._mark_page()
        block = self._block_of(anchor) if anchor else None
        cursor = QTextCursor(block) if block is not None else QTextCursor(self.browser.document())
        self.browser.setTextCursor(cursor)
        bar = self.browser.verticalScrollBar()
        top = (
            self.browser.document().documentLayout().blockBoundingRect(block).top() if block else 0
        )
        bar.setValue(round(top))

    def open_about(self, words: str) -> None:
        """Show what the guide says about something; its search when there is no section of it."""
        section = self._guide.about(words)
        if section is not None:
            self.open(section.place)
        else:
            self.field.setText(words)
            self.field.setFocus()

    def shown_heading(self) -> str:
        """The heading or entry that the text was opened at."""
        return self.browser.textCursor().block().text().split(" – ")[0]

    def _show_text(self) -> None:
        assert self._page is not None
        text = self._page.markdown
        if self._page.name == "keys":
            text += self._all_keys()
        self.browser.setMarkdown(text)
        self._set_type()

    def _all_keys(self) -> str:
        lines = ["", f"## {tr('All commands with keys')}", "", "| | |", "|---|---|"]
        for act in self._acts:
            if act.keys:
                keys = act.keys.replace(" | ", f" {tr('or')} ").replace("|", "")
                lines.append(f"| {keys} | {act.text} |")
        return "\n".join(lines)

    def _fill_list(self) -> None:
        self.list.clear()
        words = self.field.text().strip()
        if not words:
            for page in self._guide.pages:
                self._add(page.title, page.name)
            self.count.hide()
            self._mark_page()
            return
        found = self._guide.find(words)
        for section in found:
            title = next(p.title for p in self._guide.pages if p.name == section.page)
            same = section.heading == title
            self._add(section.words if same else f"{section.words} · {title}", section.place)
        self.count.setText(
            tr("{what} found", what=count_of(len(found), "place", "places"))
            if found
            else tr("Nothing found. Try another word.")
        )
        self.count.show()

    def _add(self, text: str, place: str) -> None:
        item = QListWidgetItem(text, self.list)
        item.setData(_PLACE, place)
        item.setToolTip(text)

    def _mark_page(self) -> None:
        for row in range(self.list.count()):
            item = self.list.item(row)
            if self._page is not None and item.data(_PLACE) == self._page.name:
                self.list.setCurrentItem(item)

    # --- what the maker does -----------------------------------------------------------

    def _open_item(self, item: QListWidgetItem) -> None:
        self.open(item.data(_PLACE))

    def _open_first(self) -> None:
        if self.list.count():
            self.list.setCurrentRow(0)
            self._open_item(self.list.item(0))

    def _follow(self, url: QUrl) -> None:
        if url.scheme() in ("http", "https"):
            QDesktopServices.openUrl(url)
            return
        name = url.path().removesuffix(".md") or self.page
        self.open(f"{name}#{url.fragment()}" if url.hasFragment() else name)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape:
            if self.field.text():
                self.field.clear()
            else:
                self.back_wanted.emit()
        else:
            super().keyPressEvent(event)

    # --- type ----------------------------------------------------------------------------

    def _dress(self) -> None:
        self.browser.setFont(theme.font())
        self.list.setFont(theme.font())
        self.field.setFont(theme.font())
        self.list.setFixedWidth(theme.pixels(_SIDE))
        self.field.setFixedWidth(theme.pixels(_SIDE))
        self.browser.setMaximumWidth(theme.pixels(_MEASURE) + 32)
        if self._page is not None:
            self._show_text()

    def _set_type(self) -> None:
        """Headings in our sizes, the same air between paragraphs everywhere, no table borders."""
        document = self.browser.document()
        document.setDocumentMargin(4)
        block = document.begin()
        while block.isValid():
            cursor = QTextCursor(block)
            air = QTextBlockFormat()
            top, bottom = self._air_around(block)
            air.setTopMargin(top)
            air.setBottomMargin(bottom)
            air.setLineHeight(130, QTextBlockFormat.LineHeightTypes.ProportionalHeight.value)
            cursor.mergeBlockFormat(air)
            level = block.blockFormat().headingLevel()
            if level:
                letters = QTextCharFormat()
                letters.setFont(
                    theme.font(TextSize.LARGE if level == 1 else TextSize.BODY, strong=True)
                )
                # "The block under the cursor" would take in the end of the one before.
                cursor.movePosition(
                    QTextCursor.MoveOperation.EndOfBlock, QTextCursor.MoveMode.KeepAnchor
                )
                cursor.setCharFormat(letters)  # merged, the size would stay
            block = block.next()
        for table in document.rootFrame().childFrames():
            if isinstance(table, QTextTable):
                look = QTextTableFormat(table.format())
                look.setBorder(0)
                look.setCellPadding(theme.pixels(4))
                look.setWidth(QTextLength(QTextLength.Type.PercentageLength, 100))
                look.setBottomMargin(theme.pixels(8))
                table.setFormat(look)

    def _air_around(self, block: QTextBlock) -> tuple[int, int]:
        """Pixels above and below a block; of two that meet the larger counts."""
        level = block.blockFormat().headingLevel()
        if level:
            return 0 if level == 1 else theme.pixels(16), theme.pixels(4)
        if QTextCursor(block).currentTable() is not None:
            return 0, 0  # its cells have their own
        goes_on = block.textList() is not None and block.next().textList() is not None
        return 0, theme.pixels(4 if goes_on else 8)

    def _block_of(self, anchor: str) -> QTextBlock | None:
        block = self.browser.document().begin()
        while block.isValid():
            text = block.text()
            entry = text.split(" – ")[0] if " – " in text else ""
            if (block.blockFormat().headingLevel() and anchor_of(text) == anchor) or (
                entry and anchor_of(entry) == anchor
            ):
                return block
            block = block.next()
        return None
