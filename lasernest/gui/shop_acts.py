"""What can be done with the shop book: stocks, offcuts, machines, entered where they are chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lasernest.gui.menu import Act
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.gui.parts.machine_box import MachineBox
    from lasernest.gui.parts.offcut_box import OffcutBox
    from lasernest.gui.parts.stock_box import StockBox
    from lasernest.gui.window import Window


def shop_acts(window: Window) -> list[Act]:
    """The acts of the group Shop."""

    def box() -> StockBox:
        """Where stocks are entered: on the open step, else on Sheets."""
        if window.page is window.kerf and window.board.isVisible():
            return window.kerf.stock_box
        window.go_to(Step.SHEETS)
        return window.sheets.settings.stock_box

    def shelf() -> OffcutBox:
        """Where offcuts are entered."""
        window.go_to(Step.SHEETS)
        return window.sheets.settings.offcuts

    def machine() -> MachineBox:
        """Where machines are entered."""
        window.go_to(Step.CUT_FILE)
        return window.cut_file.machine_box

    shop = tr("Shop")
    return [
        Act(
            "new stock",
            shop,
            tr("New stock"),
            lambda: box().open_new(),
            explain=tr("Enter a kind of sheet of your own: material, thickness, sizes, prices"),
        ),
        Act(
            "change stock",
            shop,
            tr("Change this stock"),
            lambda: box().open_change(),
            explain=tr("Name, thickness, sheet sizes, prices, sheets on hand, grain, note"),
        ),
        Act(
            "remove stock",
            shop,
            tr("Remove this stock"),
            lambda: box().remove(),
            explain=tr("Take it out of the shop book; it can be brought back"),
        ),
        Act(
            "put offcut",
            shop,
            tr("Put an offcut on the shelf"),
            lambda: shelf().open_put(),
            explain=tr("A remainder of the chosen stock: its size, and what stands on it"),
        ),
        Act(
            "take off",
            shop,
            tr("Take an offcut off the shelf"),
            lambda: shelf().open_off(),
            explain=tr("It was used up or thrown away; it can be brought back"),
        ),
        Act(
            "new machine",
            shop,
            tr("New machine"),
            lambda: machine().open_new(),
            explain=tr("Enter a machine: bed, corner of zero, speeds, the layers it looks for"),
        ),
        Act(
            "change machine",
            shop,
            tr("Change this machine"),
            lambda: machine().open_change(),
            explain=tr("Name, bed, corner of zero, speeds, layers, note"),
        ),
        Act(
            "remove machine",
            shop,
            tr("Remove this machine"),
            lambda: machine().remove(),
            explain=tr("Take it out of the shop book; it can be brought back"),
        ),
    ]
