"""The look in force: palette, type and sizes, and the moment they change.

One `Theme` serves the whole program. It follows the system's brightness and
contrast unless the maker chose otherwise, and carries the size of text. Sizes
are in device-independent pixels on a grid of 8.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from enum import Enum

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from lasernest.gui.look.fonts import FAMILY, load_fonts
from lasernest.gui.look.palette import LIGHT, Palette, palette_for
from lasernest.gui.look.rooms import Rooms
from lasernest.gui.look.style import style_sheet

GRID = 8
RADIUS = 7


class Brightness(Enum):
    """Whether the window is light or dark."""

    SYSTEM = "like the system"
    LIGHT = "light"
    DARK = "dark"


class TextSize(Enum):
    """The three sizes of type, in pixels at a text scale of 1."""

    SMALL = 12
    BODY = 13
    LARGE = 17


class Theme(QObject):
    """Palette and type in force; `changed` tells that everything must be drawn anew."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.palette: Palette = LIGHT
        self.brightness = Brightness.SYSTEM
        self.high_contrast = False
        self.text_scale = 1.0
        self.pixel_ratio = 1.0
        """Pixels of the densest screen to one of ours."""
        self._family = ""
        self._fonts: dict[tuple[str, int, bool], QFont] = {}
        """Made once: a frame asks for hundreds."""
        self.rooms = Rooms()

    def install(self, app: QApplication) -> None:
        """Load the fonts, take the first look from the system and follow it from now on."""
        app.setStyle("Fusion")
        load_fonts()
        self._family = FAMILY if FAMILY in QFontDatabase.families() else app.font().family()
        hints = QGuiApplication.styleHints()
        hints.colorSchemeChanged.connect(self.refresh)
        self.refresh()

    def choose(
        self,
        *,
        brightness: Brightness | None = None,
        high_contrast: bool | None = None,
        text_scale: float | None = None,
    ) -> None:
        """Change what the maker chose; None leaves it as it is."""
        if brightness is not None:
            self.brightness = brightness
        if high_contrast is not None:
            self.high_contrast = high_contrast
        if text_scale is not None:
            self.text_scale = text_scale
        self.refresh()

    def refresh(self) -> None:
        """Work out the palette again and dress everything in it, rooms by and by."""
        dark = self.brightness is Brightness.DARK or (
            self.brightness is Brightness.SYSTEM
            and QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
        )
        self.palette = palette_for(dark=dark, high_contrast=self.high_contrast)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            self.pixel_ratio = app.devicePixelRatio()
            app.setFont(self.font())
            app.setPalette(_qt_palette(self.palette))
            self.rooms.dress(style_sheet(self.palette, self.text_scale))
        self.changed.emit()

    @contextmanager
    def on_paper(self, pixel_ratio: float) -> Iterator[None]:
        """The light look at plain size while a picture is drawn; nobody is told.

        Args:
            pixel_ratio: pixels of the picture to one of ours.
        """
        kept = (self.palette, self.pixel_ratio, self.text_scale)
        self.palette, self.pixel_ratio, self.text_scale = LIGHT, pixel_ratio, 1.0
        try:
            yield
        finally:
            self.palette, self.pixel_ratio, self.text_scale = kept

    def font(self, size: TextSize = TextSize.BODY, *, strong: bool = False) -> QFont:
        """The one family in one of three sizes, with figures of equal width."""
        key = (self._family, self.pixels(size.value), strong)
        font = self._fonts.get(key)
        if font is None:
            font = self._fonts[key] = QFont(self._family) if self._family else QFont()
            font.setPixelSize(self.pixels(size.value))
            font.setWeight(QFont.Weight.DemiBold if strong else QFont.Weight.Normal)
            font.setFeature(QFont.Tag("tnum"), 1)
        return QFont(font)

    def pixels(self, size: float) -> int:
        """A size that grows with the text."""
        return max(1, round(size * self.text_scale))

    def colour(self, name: str, alpha: float = 1.0) -> QColor:
        """A colour of the palette by its field name."""
        colour = QColor(getattr(self.palette, name))
        colour.setAlphaF(alpha)
        return colour


def _qt_palette(p: Palette) -> QPalette:
    palette = QPalette()
    role = QPalette.ColorRole
    for target, colour in (
        (role.Window, p.paper),
        (role.WindowText, p.ink),
        (role.Base, p.field),
        (role.AlternateBase, p.hover),
        (role.Text, p.ink),
        (role.Button, p.card),
        (role.ButtonText, p.ink),
        (role.BrightText, p.on_accent),
        (role.Highlight, p.accent_ground),
        (role.HighlightedText, p.on_accent),
        (role.ToolTipBase, p.card),
        (role.ToolTipText, p.ink),
        (role.PlaceholderText, p.quiet),
        (role.Link, p.accent),
        (role.LinkVisited, p.accent),
    ):
        palette.setColor(target, QColor(colour))
    for target in (role.Text, role.WindowText, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, target, QColor(p.quiet))
    return palette


theme = Theme()
"""The one theme of the program."""
