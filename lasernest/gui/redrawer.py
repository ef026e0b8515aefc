"""Reading drawings of the job again: with other choices, or because they changed on disk."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from lasernest.domain.control import Control
from lasernest.domain.import_choices import ImportChoices
from lasernest.errors import LasernestError
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Source
from lasernest.services.redrawing import ReadAgain

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk
    from lasernest.services.importing import Imported


class Redrawer(QObject):
    """The desk's dealings with drawings that are in the job already."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk

    def read_again(self, source: Source, choices: ImportChoices, *, remember: bool = False) -> None:
        """Read a drawing in the background with other choices, as one step to undo.

        Args:
            source: the drawing as the job has it.
            choices: what the maker decided.
            remember: keep what lines are for, for the next drawing with the same layers.
        """
        path = Path(source.path)

        def work(control: Control) -> Imported:
            from lasernest.services.importing import bring_in  # noqa: PLC0415 - heavy

            return bring_in(path, choices, control=control)

        def take(read: Imported) -> None:
            self._desk.do(ReadAgain(source, read.outlines, read.digest, read.choices))
            if remember:
                self._remember(read)

        self._desk.tasks.run(
            "import",
            tr("Reading {name} again", name=path.name),
            work,
            on_done=take,
            on_failed=lambda e: self._desk.trouble(Step.OUTLINES, path.name, e),
        )

    def _remember(self, read: Imported) -> None:
        from lasernest.services.importing import remember_uses  # noqa: PLC0415 - heavy

        try:
            remember_uses(read, self._desk.workbench.shop)
        except LasernestError as error:
            self._desk.trouble(Step.OUTLINES, tr("Remembering what lines are for"), error)
