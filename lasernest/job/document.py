"""The job: the document that holds panels, quantities, joints, setup and plan.

A job is frozen; every change makes a new one, so that the window can keep
before and after. The drawn outlines stay as they were imported: joints and
kerf are worked out from them each time.

A plan is kept with the job only while it still answers the job's request:
`Job.changed` drops it when something that nesting looks at has changed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

from lasernest.domain.comparison import Comparison
from lasernest.domain.contours import Contour
from lasernest.domain.cutting import CutChoices
from lasernest.domain.drawing import LineKind, Outlines
from lasernest.domain.findings import Finding
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.joints import Joint, JointRules
from lasernest.domain.offcuts import Offcut
from lasernest.domain.orders import check_scrap, start_count
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis, Plan, Turns
from lasernest.domain.stock import NOT_STATED, Kerf, SheetSize, Stock
from lasernest.errors import BadValueError, NotFoundError, UsageError


@dataclass(frozen=True, slots=True)
class JobPanel:
    """A panel of the job and what is wanted of it."""

    panel: Panel
    """As drawn, before joints."""
    quantity: int = 1
    """Copies in one unit of the product."""
    turns: Turns | None = None
    """None: as the stock's grain asks."""
    may_mirror: bool = False
    priority: int = 0
    """Where sheets are short, panels of a higher priority are placed first."""
    as_many_as_fit: bool = False
    """Besides the quantity: as many more as the sheets used have room for."""
    stock_name: str = ""
    """Of the setup's other stocks, the one it is cut from; empty: from the job's own."""

    def __post_init__(self) -> None:
        if not 0 <= self.quantity <= 100_000:
            raise BadValueError(
                f"{self.quantity} copies of {self.panel.name} cannot be made",
                todo="Give a quantity from 0 to 100 000.",
            )

    @property
    def name(self) -> str:
        return self.panel.name


@dataclass(frozen=True, slots=True)
class Source:
    """A drawing that panels of the job came from."""

    path: str
    format: str
    unit: str
    mm_per_unit: float
    digest: str = ""
    """SHA-256 of the file when it was read, to see later that it changed."""
    panel_names: tuple[str, ...] = ()
    """Names in the job, in the order of the drawing."""
    findings: tuple[Finding, ...] = ()
    loose: tuple[Contour, ...] = ()
    """Lines of the drawing that were left out, kept to be shown."""
    choices: ImportChoices = field(default_factory=ImportChoices)
    """How it was read, to be read again in the same way."""
    lines: tuple[LineKind, ...] = ()
    """All its lines by layer and colour, and what they were taken for."""

    @classmethod
    def of(
        cls,
        outlines: Outlines,
        panel_names: tuple[str, ...],
        *,
        digest: str = "",
        choices: ImportChoices,
    ) -> Source:
        """What a job keeps of a drawing whose panels have these names in it."""
        drawing = outlines.drawing
        return cls(
            str(drawing.path),
            drawing.format,
            drawing.unit,
            drawing.mm_per_unit,
            digest,
            panel_names,
            outlines.findings,
            outlines.loose,
            choices,
            outlines.lines,
        )


@dataclass(frozen=True, slots=True)
class StockChoice:
    """A stock that some panels are cut from instead of the job's own; fields as in `Setup`."""

    stock: Stock
    sheet_size: SheetSize | None = None
    kerf: Kerf | None = None
    keep_grain: bool | None = None
    offcuts: tuple[Offcut, ...] = ()


@dataclass(frozen=True, slots=True)
class Setup:
    """What the job is cut from, and how; the maker's decisions.

    Stock, size, kerf, grain and offcuts are those of the job's own stock. Ask
    `for_stock` what holds for a sheet or a panel: that has one stock only.
    """

    stock: Stock | None = None
    """As the shop book had it when it was chosen."""
    sheet_size: SheetSize | None = None
    """None: the first size of the stock."""
    units: int = 1
    spares: int = 0
    """Of each panel, besides what the units need."""
    scrap_share: float = 0.0
    """Expected share of panels that fail; more are cut for it."""
    gap_mm: float = 2.0
    margin_mm: float = 5.0
    keep_grain: bool | None = None
    """None: as the stock says."""
    kerf: Kerf | None = None
    """Given for this job only; None: the stock's."""
    machine_name: str | None = None
    offcuts: tuple[Offcut, ...] = ()
    """To be filled before whole sheets, as the shop book had them."""
    units_together: bool = False
    """All panels of a unit on one sheet, where a sheet can hold them."""
    long_sides_along: Axis | None = None
    """Panels lie with their longer side along this axis, where their turns allow it."""
    materials_accepted: tuple[str, ...] = ()
    """Materials whose warning the maker has read and accepted."""
    other_stocks: tuple[StockChoice, ...] = ()
    """Of panels that name another stock than the job's own."""

    def __post_init__(self) -> None:
        if not 1 <= self.units <= 100_000:
            raise BadValueError(
                f"{self.units} units cannot be made", todo="Give a number from 1 to 100 000."
            )
        if not 0 <= self.spares <= 100_000:
            raise BadValueError(
                f"{self.spares} spares cannot be made", todo="Give a number from 0 to 100 000."
            )
        check_scrap(self.scrap_share)
        for name, value in (("gap", self.gap_mm), ("margin", self.margin_mm)):
            if not (math.isfinite(value) and 0 <= value <= 500):
                raise BadValueError(
                    f"a {name} of {value:g} mm cannot be", todo="Give a length from 0 to 500 mm."
                )
        names = [stock.name for stock in self.stocks]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise BadValueError(f"{twice} is chosen twice", todo="Take one of them out.")

    @property
    def stocks(self) -> tuple[Stock, ...]:
        """All stocks that panels may be cut from, the job's own first."""
        own = (self.stock,) if self.stock is not None else ()
        return (*own, *(choice.stock for choice in self.other_stocks))

    def is_own(self, stock_name: str) -> bool:
        """Whether a panel's or sheet's stock name means the job's own stock."""
        return not stock_name or (self.stock is not None and self.stock.name == stock_name)

    def for_stock(self, stock_name: str) -> Setup:
        """What holds for sheets and panels of one stock.

        Args:
            stock_name: of a sheet or panel; empty for the job's own.

        Raises:
            NotFoundError: the job has no such stock.
        """
        if self.is_own(stock_name):
            return replace(self, other_stocks=()) if self.other_stocks else self
        choice = self._choice(stock_name)
        return replace(
            self,
            stock=choice.stock,
            sheet_size=choice.sheet_size,
            kerf=choice.kerf,
            keep_grain=choice.keep_grain,
            offcuts=choice.offcuts,
            other_stocks=(),
        )

    def with_choice(self, stock_name: str, **changes: Any) -> Setup:
        """A copy with other choices for one stock: fields of `StockChoice`.

        Raises:
            NotFoundError: the job has no such stock.
        """
        if self.is_own(stock_name):
            return replace(self, **changes)
        old = self._choice(stock_name)
        new = replace(old, **changes)
        return replace(self, other_stocks=tuple(new if c is old else c for c in self.other_stocks))

    def _choice(self, stock_name: str) -> StockChoice:
        for choice in self.other_stocks:
            if choice.stock.name == stock_name:
                return choice
        raise NotFoundError(
            f"nothing of this job is cut from {stock_name}", todo="Arrange the panels again."
        )

    def cut_from(self) -> tuple[Stock, Kerf]:
        """The job's own stock, and the kerf that its cut paths are compensated for.

        Raises:
            UsageError: no stock is chosen.
        """
        if self.stock is None:
            raise UsageError("no stock is chosen", todo="Choose the sheet to cut from.")
        return self.stock, self.kerf if self.kerf is not None else self.stock.kerf

    @property
    def material_accepted(self) -> bool:
        """True when the maker has accepted the warning on the job's own material."""
        return self.stock is not None and self.stock.material in (
            NOT_STATED,
            *self.materials_accepted,
        )

    @property
    def chosen_size(self) -> SheetSize | None:
        if self.sheet_size is not None:
            return self.sheet_size
        return self.stock.sizes[0] if self.stock else None

    @property
    def used_kerf(self) -> Kerf | None:
        """The kerf that cut paths are compensated for."""
        if self.kerf is not None:
            return self.kerf
        return self.stock.kerf if self.stock else None

    @property
    def grain_kept(self) -> bool:
        if self.keep_grain is not None:
            return self.keep_grain
        return bool(self.stock and self.stock.grain)


_NESTING_LOOKS_AT = frozenset({"panels", "setup", "joints", "joint_rules"})


@dataclass(frozen=True, slots=True)
class Job:
    """One product, or one batch of products, from outlines to cut files."""

    name: str = ""
    panels: tuple[JobPanel, ...] = ()
    sources: tuple[Source, ...] = ()
    setup: Setup = field(default_factory=Setup)
    joints: tuple[Joint, ...] = ()
    joint_rules: JointRules = field(default_factory=JointRules)
    plan: Plan | None = None
    comparison: Comparison | None = None
    """On several stocks; it tells itself what it was made from."""
    cutting: CutChoices = field(default_factory=CutChoices)
    """Lead-ins, holding tabs and the order of cuts; the plan does not depend on them."""

    def __post_init__(self) -> None:
        names = [panel.name for panel in self.panels]
        if len(set(names)) != len(names):
            double = next(name for name in names if names.count(name) > 1)
            raise BadValueError(f"two panels are called {double}", todo="Rename one of them.")
        others = {choice.stock.name for choice in self.setup.other_stocks}
        for panel in self.panels:
            if panel.stock_name and panel.stock_name not in others:
                raise BadValueError(
                    f"{panel.name} is to be cut from {panel.stock_name}, which the job does not "
                    "know",
                    todo="Choose the panel's stock again.",
                )

    def changed(self, **changes: Any) -> Job:
        """A copy with these fields changed; the plan goes when it no longer answers."""
        looked_at = any(
            key in _NESTING_LOOKS_AT and value != getattr(self, key)
            for key, value in changes.items()
        )
        if looked_at and "plan" not in changes:
            changes["plan"] = None
        return replace(self, **changes)

    def panel(self, name: str) -> JobPanel:
        """The panel of this name.

        Raises:
            NotFoundError: there is none.
        """
        for panel in self.panels:
            if panel.name == name:
                return panel
        known = ", ".join(p.name for p in self.panels[:8]) or "none yet"
        raise NotFoundError(f"there is no panel {name}", todo=f"The panels are: {known}.")

    def with_panel(self, name: str, new: JobPanel) -> Job:
        """A copy with the panel of this name replaced."""
        self.panel(name)
        return self.changed(panels=tuple(new if p.name == name else p for p in self.panels))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the readers said of the drawings."""
        return tuple(finding for source in self.sources for finding in source.findings)

    @property
    def panel_count(self) -> int:
        """Panels to cut, with spares and for the expected scrap."""
        return sum(self.copies_of(panel) for panel in self.panels)

    @property
    def has_work(self) -> bool:
        """Whether anything is to be cut: panels by number, or to fill up with."""
        return self.panel_count > 0 or any(panel.as_many_as_fit for panel in self.panels)

    def copies_of(self, panel: JobPanel) -> int:
        """Copies to cut of one panel; none of a panel that no unit takes."""
        if not panel.quantity:
            return 0
        good = panel.quantity * self.setup.units + self.setup.spares
        return start_count(good, self.setup.scrap_share)
