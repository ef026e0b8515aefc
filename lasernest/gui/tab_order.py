"""Where Tab goes next, and where the keys go when the part that had them is gone.

Qt visits parts in the order in which they were made. Notes, findings and rows are made
when they are needed, so they would come last, wherever they stand. Here the order is the
one in which the window is laid out.

A part that goes away while it has the keys (an answered question, a row that was removed)
hands them to what stands in its place once the page is laid out anew: the part of the same
name, else the one nearest to where it was. Nothing is scrolled that is in sight.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtWidgets import QAbstractButton, QLayout, QScrollArea, QWidget

_SCROLLED_IN_PX = 12
"""So much of what lies around a part is seen when it is scrolled into sight."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a part stood that is gone or cannot be used now."""

    kind: type[QWidget]
    name: str
    above: tuple[QWidget, ...]
    """What it stood in, the innermost first."""
    top: int
    """Its upper edge in the window."""


class TabOrder:
    """The order of the keys in one window."""

    def __init__(self, window: QWidget) -> None:
        self._window = window
        self._lost: _Place | None = None

    def go(self, *, forward: bool) -> bool:
        """Give the keys to the next part, or the one before; True when there is one."""
        focused = self._window.focusWidget()
        if focused is not None and not _can_take(focused):
            # Qt asks for the next part when it hides or disables one that has the keys.
            self._keep_place(focused)
            self._window.setFocus(Qt.FocusReason.OtherFocusReason)  # for now
            return True
        order = list(_in_order(self._window, focused))
        stops = [part for part in order if part is focused or _takes_tab(part)]
        if not stops:
            return False
        if focused in stops:
            at = stops.index(focused) + (1 if forward else -1)
        else:
            at = 0 if forward else -1
        reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
        give_keys(stops[at % len(stops)], reason)
        return True

    def _keep_place(self, gone: QWidget) -> None:
        above: list[QWidget] = []
        part = gone.parentWidget()
        while part is not None:
            above.append(part)
            part = None if part is self._window else part.parentWidget()
        if self._lost is None:
            # What takes its place is made after this, and shown one round of events later.
            window, again = self._window, self._restore
            QTimer.singleShot(0, window, lambda: QTimer.singleShot(0, window, again))
        self._lost = _Place(type(gone), _name(gone), tuple(above), self._top(gone))

    def _top(self, part: QWidget) -> int:
        return part.mapTo(self._window, QPoint(0, 0)).y()

    def _restore(self) -> None:
        lost, self._lost = self._lost, None
        focused = self._window.focusWidget()
        if lost is None or focused not in (None, self._window):
            return  # somebody else has them by now
        there = {self._window, *self._window.findChildren(QWidget)}  # others may be deleted
        shown = [one for one in lost.above if one in there and one.isVisible()]
        for around in shown:
            stops = [part for part in _in_order(around) if _takes_tab(part)]
            same = [s for s in stops if isinstance(s, lost.kind) and _name(s) == lost.name]
            if stops:
                nearest = min(stops, key=lambda stop: abs(self._top(stop) - lost.top))
                give_keys(same[0] if same else nearest, Qt.FocusReason.OtherFocusReason)
                return


def first_stop(part: QWidget) -> QWidget | None:
    """What takes the keys first in a part of the window; None when nothing does."""
    return next((one for one in _in_order(part) if _takes_tab(one)), None)


def _can_take(part: QWidget) -> bool:
    return part.isVisible() and part.isEnabled()


def _takes_tab(part: QWidget) -> bool:
    policy = bool(part.focusPolicy() & Qt.FocusPolicy.TabFocus)
    return policy and part.isEnabled() and part.focusProxy() is None


def _name(part: QWidget) -> str:
    return part.text() if isinstance(part, QAbstractButton) else part.accessibleName()


def give_keys(part: QWidget, reason: Qt.FocusReason) -> None:
    """Give the keys to a part and scroll it into sight."""
    part.setFocus(reason)
    scroll_to(part)


def scroll_to(part: QWidget) -> None:
    """Scroll a part into sight."""
    above = part.parentWidget()
    while above is not None:
        if isinstance(above, QScrollArea):
            above.ensureWidgetVisible(part, _SCROLLED_IN_PX, _SCROLLED_IN_PX)
        above = above.parentWidget()


def _in_order(part: QWidget, always: QWidget | None = None) -> Iterator[QWidget]:
    """A part and all that is shown in it, as it is laid out."""
    if _takes_tab(part) or part is always:
        yield part
    layout = part.layout()
    laid_out = list(_widgets_of(layout)) if layout is not None else []
    others = [
        child
        for child in part.children()
        if isinstance(child, QWidget) and not child.isWindow() and child not in laid_out
    ]
    others.sort(key=lambda child: (child.y(), child.x()))
    for child in [*laid_out, *others]:
        if child.isVisible():
            yield from _in_order(child, always)


def _widgets_of(layout: QLayout) -> Iterator[QWidget]:
    for i in range(layout.count()):
        item = layout.itemAt(i)
        if item is None:
            continue
        widget, inner = item.widget(), item.layout()
        if widget is not None:
            yield widget
        elif inner is not None:
            yield from _widgets_of(inner)
