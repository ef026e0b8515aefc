"""Geometry that SVG takes from CSS: where and how large a shape is, and path data.

In a style sheet or a `style` attribute a length needs its unit, as everywhere in CSS;
without one browsers pass the declaration over, and so does this reader.

Source: SVG 2, chapter 7 (geometry properties) and section 9.3.2 (the d property); CSS
Values and Units Level 4, section 6 (lengths), CSS Syntax Level 3, section 2.2 (invalid
declarations are ignored).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from lasernest.exchange.readers.svg_xml import Node

GEOMETRY = ("x", "y", "cx", "cy", "r", "rx", "ry", "width", "height", "d")

_BOX = ("x", "y", "width", "height")
_OF_TAGS: dict[str, tuple[str, ...]] = {
    "rect": (*_BOX, "rx", "ry"),
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "path": ("d",),
    "svg": _BOX,
    "use": _BOX,
}
_MAY_BE_AUTO = ("rx", "ry", "width", "height")
_NEVER_NEGATIVE = ("r", "rx", "ry", "width", "height")
_PLAIN = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)([a-z%]*)", re.IGNORECASE)
_PATH = re.compile(r"""path\(\s*(?:(?:nonzero|evenodd)\s*,\s*)?(["'])(.*?)\1\s*\)""", re.DOTALL)


def valid_geometry(name: str, value: str) -> str | None:
    """A declaration's value as the attribute of that name would have it; None where it is invalid.

    What is valid but not known here, such as `calc()`, is handed on and refused there.
    """
    if name == "d":
        found = _PATH.fullmatch(value)
        return "" if value == "none" else found[2] if found else None
    if value == "auto":
        return value if name in _MAY_BE_AUTO else None
    if "(" in value or value == "inherit":
        return value
    found = _PLAIN.fullmatch(value)
    if found is None:
        return None
    number = float(found[1])
    if (number and not found[2]) or (number < 0.0 and name in _NEVER_NEGATIVE):
        return None
    return value


def with_geometry(node: Node, style: Mapping[str, str]) -> Node:
    """The element with the geometry that its style gives it in place of its attributes."""
    names = [name for name in _OF_TAGS.get(node.tag, ()) if name in style]
    given = {name: style[name] for name in names if style[name] != node.attributes.get(name)}
    return replace(node, attributes=node.attributes | given) if given else node


def root_with_size(root: Node, style: Mapping[str, str]) -> Node:
    """The outermost svg with the size its style states; a share of the window is none."""
    stated = {
        name: style[name]
        for name in ("width", "height")
        if name in style and style[name] != "auto" and not style[name].endswith("%")
    }
    return with_geometry(root, stated)
