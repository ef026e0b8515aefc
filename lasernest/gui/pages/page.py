"""What every page has: a card, a scene or first words, a tile's text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from functools import partial

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from lasernest.errors import LasernestError
from lasernest.gui.board.frame import Board
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.pictures import PictureSet, scene_picture
from lasernest.gui.board.scene import Scene
from lasernest.gui.desk import Desk
from lasernest.gui.happened import Trouble
from lasernest.gui.parts.card import Card
from lasernest.gui.parts.entries import Entry
from lasernest.gui.parts.notes import Answer, Note
from lasernest.gui.template_writer import Template
from lasernest.gui.tiles import Step, TileText
from lasernest.gui.words import tr
from lasernest.services.recutting import recut_job

_GUIDE_PAGES = {
    Step.OUTLINES: "drawings",
    Step.JOINTS: "joints",
    Step.KERF: "kerf-and-fit",
    Step.SHEETS: "sheets",
    Step.CUT_FILE: "cut-file",
}


class Page(QObject):
    """One step of the job."""

    step: Step
    picture_wanted = Signal(object)
    """The maker wants to save this `PictureSet`."""
    job_wanted = Signal(object)
    """The maker wants another window with this `Job`."""
    template_wanted = Signal(object)
    """The maker wants to write this `Template`."""

    def __init__(self, desk: Desk, board: Board, heading: str) -> None:
        super().__init__()
        self.desk = desk
        self.board = board
        self.card = Card(heading)
        self.shown = False

    def scene(self) -> Scene | None:
        """What the board shows, or None for the page's first words."""
        return None

    def signs(self) -> Sequence[Sign]:
        """What the legend explains."""
        return ()

    def first_words(self) -> QWidget | None:
        """What the board says while there is nothing to draw."""
        return None

    def all_words(self) -> Sequence[QWidget]:
        """All that `first_words` may give."""
        words = self.first_words()
        return (words,) if words is not None else ()

    def tile(self) -> TileText:
        """What the page's tile says."""
        raise NotImplementedError

    def guide_page(self) -> str:
        """The page of the guide that belongs to what the maker does here."""
        return _GUIDE_PAGES[self.step]

    def pictures(self) -> Sequence[PictureSet]:
        """What of this page can be saved as a picture: what the board shows."""
        scene = self.scene()
        if scene is None or not scene.bounds_mm().isValid():
            return ()
        stem = f"{self.desk.job.name or tr('job')}-{self.step.value}"
        picture = scene_picture(scene, self.signs())
        return (PictureSet(self.step.value, stem.replace(" ", "-").casefold(), (picture,)),)

    def picture_entry(self) -> Entry:
        """All of that for a context menu."""
        return Entry(
            tr("Save a picture"),
            entries=tuple(
                Entry(wanted.text + "…", partial(self.picture_wanted.emit, wanted))
                for wanted in self.pictures()
            ),
        )

    def templates(self) -> Sequence[Template]:
        """What of this page can be written as a paper template."""
        if not self.desk.job.panels:
            return ()
        return (Template(tr("All panels"), self.step),)

    def template_entry(self) -> Entry:
        """All of that for a context menu."""
        return Entry(
            tr("Paper template"),
            entries=tuple(
                Entry(wanted.text + "…", partial(self.template_wanted.emit, wanted))
                for wanted in self.templates()
            ),
        )

    def sheet_templates(self, index: int) -> tuple[Template, ...]:
        """The sheet that is shown, as its plan lays it, before what every page offers."""
        plan = self.desk.job.plan
        if plan is None or index >= len(plan.sheets):
            return tuple(Page.templates(self))
        text = tr("Sheet {n}", n=index + 1)
        return (Template(text, self.step, sheet_number=index + 1), *Page.templates(self))

    def recut_entry(self, keys: Collection[tuple[str, int]]) -> Entry:
        """Panels of the sheet that is shown, to be cut again."""
        text = tr("Cut again…") if len(keys) == 1 else tr("Cut these {n} again…", n=len(keys))
        names = [name for name, _copy in keys]
        return Entry(text, partial(self.recut, names))

    def recut(self, names: Sequence[str]) -> None:
        """Cut panels again, in a window of their own; a name stands for each copy."""
        try:
            self.job_wanted.emit(recut_job(self.desk.job, Counter(names)))
        except LasernestError as error:
            self.desk.said.emit(error.sentence())

    def refresh(self) -> None:
        """Show the job as it is now."""

    def enter(self) -> None:
        """The maker came to this page: show the job as it is now."""
        self.shown = True
        self.refresh()

    def leave(self) -> None:
        """The maker went to another page."""
        self.shown = False

    def put_on_board(self) -> None:
        """Show the scene, or the first words when there is nothing to draw."""
        if not self.shown:
            return
        scene = self.scene()
        words = self.first_words() if scene is None else None
        if scene is not None:
            self.board.show_scene(scene, self.signs())
        elif words is not None:
            self.board.show_empty(words)

    def trouble_notes(self) -> list[Note]:
        """What went wrong at this step, each with a button to put it away."""
        notes = []
        for trouble in self.desk.troubles:
            if trouble.step is self.step:
                answers = [Answer(tr("Dismiss"), partial(self.desk.settle, trouble))]
                if trouble.again is not None:
                    answers.insert(0, Answer(tr("Try again"), partial(self._try_again, trouble)))
                said = trouble.below_heading
                notes.append(Note(said, "error", tuple(answers), heading=trouble.what))
        return notes

    def _try_again(self, trouble: Trouble) -> None:
        self.desk.settle(trouble)
        if trouble.again is not None:
            trouble.again()
