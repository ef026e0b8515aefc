"""The sheets of a plan as pictures, for the pages that show them."""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.plan import Plan
from lasernest.gui.board.legend import Sign
from lasernest.gui.board.pictures import Picture, PictureSet, sheet_picture
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.words import tr


def plan_pictures(desk: Desk, plan: Plan, index: int, signs: Sequence[Sign]) -> list[PictureSet]:
    """The sheet that is shown, and all sheets together.

    Args:
        desk: knows panels, stock and figures.
        plan: whose sheets are drawn.
        index: of the sheet that is shown.
        signs: what its lines mean.
    """
    kinds = [s for s in signs if s not in (Sign.KERF, Sign.OFFCUT)]

    def picture(at: int) -> Picture:
        one = plan.sheets[at]
        stock, figures = desk.job.setup.for_stock(one.sheet.stock_name).stock, desk.figures
        left = [
            desk.job.name,
            one.sheet.label if one.sheet.is_offcut else (stock.name if stock else ""),
            lengths.size(one.sheet.width_mm, one.sheet.height_mm, 1),
        ]
        right = [tr("sheet {n} of {all}", n=at + 1, all=len(plan.sheets))]
        if figures is not None and at < len(figures.sheets):
            share = f"{100 * figures.sheets[at].yield_share:.1f}"
            right.append(tr("yield {share} %", share=share))
        return sheet_picture(
            one,
            desk.panels,
            left=" · ".join(part for part in left if part),
            right=" · ".join(right),
            signs=kinds,
        )

    name = desk.job.name or tr("job")
    n = index + 1
    sets = [PictureSet(tr("Sheet {n}", n=n), f"{name}-sheet-{n}", (picture(index),))]
    if len(plan.sheets) > 1:
        every = tuple(picture(at) for at in range(len(plan.sheets)))
        sets.append(PictureSet(tr("All sheets"), f"{name}-sheets", every))
    return sets
