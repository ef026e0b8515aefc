"""Saves pictures: drawn between events, packed and written in the background."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, QTimer

from lasernest.domain.control import Control
from lasernest.errors import LasernestError
from lasernest.files import write_atomically
from lasernest.gui.asking import Asking
from lasernest.gui.board.pictures import SUFFIXES, PictureFile, PictureSet
from lasernest.gui.desk import Desk
from lasernest.gui.parts.place import file_name, folder_of_drawings, usual_folder
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr

_SLICE_S = 0.015


@dataclass(frozen=True, slots=True)
class _Wanted:
    drawing: PictureFile
    path: Path
    count: int
    step: Step


class PictureSaver(QObject):
    """Saves pictures for one window, one after the other."""

    def __init__(self, desk: Desk, asking: Asking) -> None:
        super().__init__()
        self._desk, self._asking = desk, asking
        self._waiting: deque[_Wanted] = deque()
        self._slices = QTimer(self)
        self._slices.setInterval(0)
        self._slices.timeout.connect(self._draw_on)

    @property
    def busy(self) -> bool:
        """True while something is drawn or written."""
        return bool(self._waiting) or self._desk.tasks.task("picture") is not None

    def ask(self, wanted: PictureSet) -> None:
        """Ask where to save pictures, and save them."""
        desk = self._desk
        folder = usual_folder(
            desk.workbench.path.parent if desk.workbench.path else None,
            folder_of_drawings(source.path for source in desk.job.sources),
        )
        path = self._asking.picture(folder / f"{file_name(wanted.stem)}.png")
        if path is not None:
            self.save(wanted, path, Step.SHEETS)

    def save(self, wanted: PictureSet, path: Path, step: Step) -> None:
        """Save pictures under a name; its ending says as what, PNG when it has none of ours.

        Args:
            wanted: what to save.
            path: where; several PNG or SVG get `-1`, `-2`, ... before the ending.
            step: where a problem is shown.
        """
        if path.suffix.lower() not in SUFFIXES:
            path = path.with_name(path.name + ".png")
        drawing = PictureFile(wanted.pictures, path.suffix)
        self._waiting.append(_Wanted(drawing, path, len(wanted.pictures), step))
        self._slices.start()

    def _draw_on(self) -> None:
        if not self._waiting or self._desk.tasks.task("picture") is not None:
            return
        if self._waiting[0].drawing.work(_SLICE_S):
            self._write(self._waiting.popleft())
        if not self._waiting:
            self._slices.stop()

    def _write(self, wanted: _Wanted) -> None:
        path = wanted.path

        def work(control: Control) -> tuple[Path, ...]:
            contents = wanted.drawing.contents(control)
            paths = (
                [path]
                if len(contents) == 1
                else [
                    path.with_name(f"{path.stem}-{n}{path.suffix}")
                    for n in range(1, len(contents) + 1)
                ]
            )
            for file, content in zip(paths, contents, strict=True):
                write_atomically(file, content)
            return tuple(paths)

        self._desk.tasks.run(
            "picture",
            tr("Saving {what}", what=count_of(wanted.count, "picture", "pictures")),
            work,
            on_done=self._tell,
            on_failed=lambda e: self._fail(wanted.step, e),
        )

    def _tell(self, paths: tuple[Path, ...]) -> None:
        if len(paths) == 1:
            self._desk.said.emit(tr("{name} saved.", name=paths[0].name))
        else:
            self._desk.said.emit(
                tr("{first} to {last} saved.", first=paths[0].name, last=paths[-1].name)
            )

    def _fail(self, step: Step, error: Exception) -> None:
        if not isinstance(error, LasernestError):
            self._waiting.clear()
        self._desk.trouble(step, tr("Saving a picture"), error)
