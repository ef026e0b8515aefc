"""What a maker does with the machines of the shop book from the card, kept and taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from lasernest.domain.control import Control
from lasernest.domain.stock import Machine
from lasernest.gui.shop_hands import Kept, Refused, ShopPart, ShopWritten
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.machine_choice import SetMachine

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk
    from lasernest.shop.book import ShopBook


class MachineHands:
    """The hands of one desk on the machines; `ShopHands` writes and takes back."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def choose(self, name: str, step: Step) -> None:
        """Cut the job on a machine of the shop book; new jobs start with it."""
        if self._desk.do(SetMachine(name), step):
            self._desk.settings.machine_name = name

    def save(
        self,
        machine: Machine,
        old: Machine | None,
        step: Step,
        *,
        done: Callable[[], object],
        refused: Refused,
    ) -> None:
        """Keep a machine, new or in place of `old`; the job takes a new one, and a new name."""
        desk, settings = self._desk, self._desk.settings
        was_chosen = old is not None and old == desk.machines.chosen
        name_before = desk.job.setup.machine_name
        usual_before = settings.machine_name

        def write(shop: ShopBook, _control: Control) -> ShopWritten:
            number = shop.save_machine(machine, instead_of=old)
            return ShopWritten(lambda book: book.undo(number), shop.stocks())

        def take(written: ShopWritten) -> None:
            before = desk.job
            if old is None or (was_chosen and old.name != machine.name):
                desk.do(SetMachine(machine.name), step)
            if old is None or settings.machine_name == old.name:
                settings.machine_name = machine.name
            said = (
                tr(
                    "{machine} is in the shop book, and this job is cut on it.",
                    machine=machine.name,
                )
                if old is None
                else tr("{machine} is changed in the shop book.", machine=machine.name)
            )
            done()
            desk.shop_hands.keep(
                Kept(said, written.back, before, desk.job, part=ShopPart.MACHINES, then=back)
            )

        def back() -> None:
            if settings.machine_name == machine.name:
                settings.machine_name = usual_before
            is_gone = old is None or old.name != machine.name
            if is_gone and desk.job.setup.machine_name == machine.name:
                desk.do(SetMachine(name_before), step)

        what = tr("Keeping {machine}", machine=machine.name)
        desk.shop_hands.write(what, write, take, refused)

    def remove(self, machine: Machine, *, done: Callable[[], object], refused: Refused) -> None:
        """Take a machine out of the shop book; a job that names it says so."""
        desk = self._desk

        def write(shop: ShopBook, _control: Control) -> ShopWritten:
            number = shop.remove_machine(machine.name)
            return ShopWritten(lambda book: book.undo(number), shop.stocks())

        def take(written: ShopWritten) -> None:
            usual = desk.settings.machine_name
            if usual == machine.name:
                desk.settings.machine_name = ""

            def back() -> None:
                desk.settings.machine_name = desk.settings.machine_name or usual

            done()
            said = tr("{machine} is out of the shop book.", machine=machine.name)
            desk.shop_hands.keep(
                Kept(said, written.back, desk.job, desk.job, part=ShopPart.MACHINES, then=back)
            )

        what = tr("Removing {machine}", machine=machine.name)
        desk.shop_hands.write(what, write, take, refused)
