"""The shop's machines as one window knows them, and the one that its job is cut on.

They are read with the till and whenever the shop book or a cut file was written. Times of
written files are worked out anew, in the background, for a machine that is only faster or slower.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from lasernest.domain.control import Control
from lasernest.domain.stock import Machine
from lasernest.errors import NotFoundError
from lasernest.gui.happened import Written
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.shop.values import same_name

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk
    from lasernest.shop.book import ShopBook


@dataclass(frozen=True, slots=True)
class ShopMachines:
    """What the shop book lists."""

    all: tuple[Machine, ...]
    """By name."""
    first: Machine | None
    """What a job is cut on that names none."""

    @classmethod
    def of(cls, shop: ShopBook) -> ShopMachines:
        """Read them; never in the window's own thread."""
        try:
            return cls(shop.machines(), shop.machine())
        except NotFoundError:
            return cls((), None)


class Machines(QObject):
    """The machines of one desk."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._known: ShopMachines | None = None
        desk.job_changed.connect(self._time_anew)
        desk.plan_changed.connect(self._time_anew)

    def hold(self, known: ShopMachines) -> None:
        """These are in the shop book now; who calls it lets the pages know."""
        self._known = known
        self._desk.leave_names_alone()

    # --- what there is -----------------------------------------------------------------

    @property
    def all(self) -> tuple[Machine, ...]:
        return self._known.all if self._known is not None else ()

    @property
    def chosen(self) -> Machine | None:
        """What the job is cut on; None while that is not known, or where it is not listed."""
        name = self._desk.job.setup.machine_name
        if name is not None:
            return next((one for one in self.all if same_name(one.name, name)), None)
        return self._known.first if self._known is not None else None

    @property
    def lacking(self) -> str:
        """Why no cut file can be written: there is no machine to write it for. Else empty."""
        if self._known is None or self.chosen is not None:
            return ""
        name = self._desk.job.setup.machine_name
        if name is None:
            return tr("The shop book lists no machine.")
        return tr("{machine} is not in the shop book.", machine=name)

    # --- what was written for one --------------------------------------------------------

    def is_for_chosen(self, written: Written) -> bool:
        """Whether these files are what the job's machine is to get."""
        machine = self.chosen
        return machine is not None and written.is_for(machine)

    def times_s(self, written: Written) -> tuple[float, ...] | None:
        """The beam's time on each sheet; None while it is worked out for the job's machine."""
        machine = self.chosen
        if machine is None or not written.is_timed_for(machine):
            return None
        return written.times_s

    def _time_anew(self) -> None:
        desk, machine = self._desk, self.chosen
        written = desk.written_of(desk.job.plan)
        if machine is None or written is None or written.is_timed_for(machine):
            return
        setup = desk.job.setup
        stocks = [setup.for_stock(one.sheet.stock_name).stock for one in written.plan.sheets]
        speeds = [stock.cut_speed_mm_per_s for stock in stocks if stock is not None]
        cuts = [entry.cut for entry in written.files]

        def work(_control: Control) -> tuple[float, ...]:
            from lasernest.services.machine_choice import times_on  # noqa: PLC0415 - heavy

            return times_on(machine, cuts, speeds)

        def take(times_s: tuple[float, ...]) -> None:
            if desk.written is written:
                desk.written = replace(written, machine=machine, times_s=times_s)
                desk.plan_changed.emit()

        desk.tasks.run(
            "times",
            tr("Timing the cut"),
            work,
            on_done=take,
            on_failed=lambda e: desk.trouble(Step.CUT_FILE, tr("Timing the cut"), e),
        )
