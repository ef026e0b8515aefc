"""Pictures to keep: a drawing of fixed size that becomes PNG, SVG or PDF.

Pictures are always light, whatever the window looks like: they are printed and
sent to others. They are drawn in slices, so that a large one does not keep the
window from answering; PNG and PDF are packed by whoever asks for the bytes.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF, QSize
from PySide6.QtGui import QFontMetricsF, QImage, QImageWriter, QPainter, QPicture
from PySide6.QtSvg import QSvgGenerator

from lasernest.domain.control import Control
from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.errors import UsageError
from lasernest.gui.board.dimensions import draw_dimensions
from lasernest.gui.board.inks import caption
from lasernest.gui.board.legend import Sign, draw_legend
from lasernest.gui.board.pdf_pages import PX_PER_INCH, RecordedPage, packed_pdf
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.sheet_scene import SheetScene
from lasernest.gui.board.view import fitted
from lasernest.gui.look.theme import TextSize, theme
from lasernest.services.apart import helpers

SUFFIXES = (".png", ".svg", ".pdf")
_PNG_RATIO = 2.0
_WIDTH = 1200.0
_EDGE = 32.0

Draw = Callable[[QPainter, QRectF], Iterator[None]]


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture."""

    width: float
    height: float
    draw: Draw
    """Draws into the whole area, yielding between short steps; the painter is in pixels."""


@dataclass(frozen=True, slots=True)
class PictureSet:
    """What is saved together: pages of one PDF, or numbered files."""

    text: str
    """As the menu names it."""
    stem: str
    """Of the usual file name."""
    pictures: tuple[Picture, ...]


class PictureFile:
    """Pictures on their way into files of one kind.

    Raises:
        UsageError: a kind of file that pictures cannot be saved as.
    """

    def __init__(self, pictures: Sequence[Picture], suffix: str) -> None:
        if suffix.lower() not in SUFFIXES:
            raise UsageError(
                f"pictures cannot be saved as {suffix or 'a file without an ending'}",
                todo="Choose a name that ends in .png, .svg or .pdf.",
            )
        self._pictures, self._suffix = tuple(pictures), suffix.lower()
        self._sheets: list[QBuffer | QImage] = []
        self._pages: list[RecordedPage] = []
        self._steps = self._draw_all()

    def work(self, seconds: float) -> bool:
        """Draw on for some time; True when all is drawn."""
        end = time.perf_counter() + seconds
        with theme.on_paper(_PNG_RATIO if self._suffix == ".png" else 1.0):
            for _ in self._steps:
                if time.perf_counter() > end:
                    return False
        return True

    def contents(self, control: Control) -> list[bytes]:
        """What the files hold, one for each; may be called in any thread.

        Raises:
            Cancelled: the maker pressed Cancel.
        """
        if self._pages:
            return [helpers.do(packed_pdf, self._pages, control=control)]
        return [_bytes_of(sheet) for sheet in self._sheets]

    def _draw_all(self) -> Iterator[None]:
        if self._suffix == ".pdf":
            yield from self._draw_pages()
            return
        for picture in self._pictures:
            size = QSize(math.ceil(picture.width), math.ceil(picture.height))
            if self._suffix == ".png":
                image = QImage(size * _PNG_RATIO, QImage.Format.Format_RGB32)
                image.setDevicePixelRatio(_PNG_RATIO)
                self._sheets.append(image)
                yield from _paint(QPainter(image), picture)
            else:
                buffer = _buffer()
                self._sheets.append(buffer)
                svg = QSvgGenerator()
                svg.setOutputDevice(buffer)
                svg.setResolution(PX_PER_INCH)
                svg.setSize(size)
                svg.setViewBox(QRectF(0.0, 0.0, size.width(), size.height()))
                yield from _paint(QPainter(svg), picture)

    def _draw_pages(self) -> Iterator[None]:
        for picture in self._pictures:
            recorded = QPicture()
            yield from _paint(QPainter(recorded), picture)
            self._pages.append(RecordedPage.of(recorded, picture.width, picture.height))


def _paint(painter: QPainter, picture: Picture) -> Iterator[None]:
    area = QRectF(0.0, 0.0, picture.width, picture.height)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(area, theme.colour("card"))
    yield from picture.draw(painter, area)
    painter.end()


def _buffer() -> QBuffer:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    return buffer


def _bytes_of(sheet: QBuffer | QImage) -> bytes:
    if isinstance(sheet, QImage):
        buffer = _buffer()
        QImageWriter(buffer, QByteArray(b"png")).write(sheet)
        sheet = buffer
    return bytes(sheet.data().data())


# --- what pictures show --------------------------------------------------------------------


def plot_picture(draw: Callable[[QPainter, QRectF], object]) -> Picture:
    """A plot, at a size that fits a page's width."""

    def steps(painter: QPainter, area: QRectF) -> Iterator[None]:
        draw(painter, area.adjusted(_EDGE, _EDGE, -_EDGE, -_EDGE))
        yield

    return Picture(720.0, 420.0, steps)


def sheet_picture(
    plan: SheetPlan, panels: Mapping[str, Panel], *, left: str, right: str, signs: Sequence[Sign]
) -> Picture:
    """One sheet with its panels, its size and what its lines mean."""
    scene = SheetScene()
    scene.show_plan(plan, panels, left=left, right=right)
    return scene_picture(scene, signs, sized=True)


def scene_picture(scene: Scene, signs: Sequence[Sign], *, sized: bool = False) -> Picture:
    """What a scene shows, whole, with its heading and what its lines mean.

    Args:
        scene: anything that has bounds.
        signs: for the legend.
        sized: draw the dimensions of the whole.
    """
    bounds = scene.bounds_mm()
    inner = _WIDTH - 2 * _EDGE - (_EDGE if sized else 0.0)
    aspect = bounds.height() / bounds.width() if bounds.width() > 0 else 1.0
    tall = min(max(inner * aspect, 160.0), 2.0 * inner)
    left, right = scene.caption()

    def steps(painter: QPainter, area: QRectF) -> Iterator[None]:
        painter.setFont(theme.font(TextSize.BODY, strong=True))
        line = QRectF(_EDGE, _EDGE * 0.5, area.width() - 2 * _EDGE, 22.0)
        right_width = QFontMetricsF(theme.font(TextSize.SMALL)).horizontalAdvance(right) + 16.0
        room = line.adjusted(0, 0, -right_width, 0)
        caption(painter, room, left, colour="ink", font=theme.font(strong=True))
        caption(painter, line, right, right=True)
        room = QRectF(_EDGE, line.bottom() + 8.0, inner, tall)
        view = fitted(bounds, room)
        yield from scene.draw(painter, view, bounds)
        painter.resetTransform()
        if sized:
            draw_dimensions(painter, view, bounds, (), ground="card", above=False)
        foot = QRectF(_EDGE, area.bottom() - 34.0, area.width() - 2 * _EDGE, 24.0)
        draw_legend(painter, foot, signs)

    below = 34.0 + scene.padding_px() + (28.0 if sized else 8.0)
    return Picture(_WIDTH, _EDGE * 0.5 + 30.0 + tall + below + 8.0, steps)
