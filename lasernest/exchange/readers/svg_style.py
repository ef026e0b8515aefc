"""Styles of an SVG file as far as they decide what is drawn and in which colour.

Order of strength, weakest first: presentation attributes, style sheet rules
by specificity and order, the style attribute. Selectors: type, class, id,
joined (`rect.cut`), in lists, as descendants and as children.

Source: SVG 1.1, chapter 6; CSS 2.1, chapters 5 and 6.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from lasernest.exchange.readers.svg_geometry import GEOMETRY, valid_geometry
from lasernest.exchange.readers.svg_xml import Node, nodes_of

PROPERTIES = frozenset(
    [
        "display",
        "visibility",
        "stroke",
        "fill",
        "opacity",
        "stroke-opacity",
        "fill-opacity",
        "color",
        "clip-path",
        "mask",
        "transform",
        "transform-origin",
        "transform-box",
        "translate",
        "rotate",
        "scale",
        *GEOMETRY,
    ]
)
_ATTRIBUTES = PROPERTIES - {*GEOMETRY, "translate", "rotate", "scale"}
"""Those that may be attributes as well. Geometry is left in them (`svg_geometry`)."""
_INHERITED = ("visibility", "stroke", "fill", "color", "stroke-opacity", "fill-opacity")
_NOTHING = ("none", "transparent")
_SIMPLE = re.compile(r"([\w-]+|\*)?((?:[.#][\w-]+)*)$")


@dataclass(frozen=True, slots=True)
class Rule:
    """One selector with its declarations; parts run from the element outward."""

    parts: tuple[tuple[str, str, frozenset[str], str], ...]
    """Combinator to the next part, type, classes, id."""
    weight: tuple[int, int, int]
    order: int
    style: dict[str, str]
    important: dict[str, str]
    """Declarations marked `!important`, which count before all others."""


def rules_of(root: Node) -> list[Rule]:
    """The rules of all style sheets in a file."""
    rules: list[Rule] = []
    for node in nodes_of(root):
        if node.tag == "style":
            rules += parse_sheet(node.text, len(rules))
    return rules


def parse_sheet(text: str, first_order: int = 0) -> list[Rule]:
    """The rules of a style sheet; what is not understood is passed over."""
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    text = text.replace("<!--", "").replace("-->", "")
    text = re.sub(r"@(?:import|charset|namespace)[^;]*;", "", text)
    text = re.sub(r"@[\w-]+[^{]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}", "", text)
    rules: list[Rule] = []
    for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        style, important = declarations(body)
        if not (style or important):
            continue
        for selector in selectors.split(","):
            rule = _rule(selector.strip(), style, important, first_order + len(rules))
            if rule is not None:
                rules.append(rule)
    return rules


def declarations(body: str) -> tuple[dict[str, str], dict[str, str]]:
    """The properties that matter here from `name: value; ...`: usual ones, important ones."""
    style: dict[str, str] = {}
    important: dict[str, str] = {}
    for part in body.split(";"):
        name, colon, value = part.partition(":")
        name = name.strip().lower()
        if colon and name in PROPERTIES:
            plain = re.sub(r"\s*!\s*important\s*$", "", value, flags=re.IGNORECASE)
            kept = valid_geometry(name, plain.strip()) if name in GEOMETRY else plain.strip()
            if kept is not None:
                (style if plain == value else important)[name] = kept
    return style, important


def _rule(
    selector: str, style: dict[str, str], important: dict[str, str], order: int
) -> Rule | None:
    tokens = re.sub(r"\s*>\s*", " > ", selector).split()
    parts: list[tuple[str, str, frozenset[str], str]] = []
    combinator = " "
    weight = [0, 0, 0]
    for token in tokens:
        if token == ">":
            combinator = ">"
            continue
        match = _SIMPLE.match(token)
        if match is None or not token:
            return None
        kind = match[1] or "*"
        classes = frozenset(re.findall(r"\.([\w-]+)", match[2]))
        identity = re.findall(r"#([\w-]+)", match[2])
        weight[0] += len(identity)
        weight[1] += len(classes)
        weight[2] += kind != "*"
        parts.append((combinator, kind, classes, identity[-1] if identity else ""))
        combinator = " "
    if not parts:
        return None
    return Rule(tuple(reversed(parts)), (weight[0], weight[1], weight[2]), order, style, important)


def style_of(node: Node, ancestors: Sequence[Node], rules: Sequence[Rule]) -> dict[str, str]:
    """The element's own declarations, by strength; nothing inherited yet.

    Source: CSS Cascading and Inheritance Level 4, 6.1: important declarations
    come before normal ones, whichever the selector.
    """
    attributes = node.attributes
    style = {name: attributes[name] for name in _ATTRIBUTES if name in attributes}
    matching = [rule for rule in rules if _matches(rule, node, ancestors)]
    matching.sort(key=lambda r: (r.weight, r.order))
    for rule in matching:
        style.update(rule.style)
    usual, important = declarations(node.attributes.get("style", ""))
    style.update(usual)
    for rule in matching:
        style.update(rule.important)
    style.update(important)
    return style


def inherited(own: dict[str, str], parent: dict[str, str]) -> dict[str, str]:
    """Own declarations over the inherited ones of the parent."""
    style = {name: parent[name] for name in _INHERITED if name in parent}
    for name, value in own.items():
        if value == "inherit":
            if name in parent:
                style[name] = parent[name]
        else:
            style[name] = value
    return style


def _matches(rule: Rule, node: Node, ancestors: Sequence[Node]) -> bool:
    if not _simple_match(rule.parts[0], node):
        return False
    place = len(ancestors) - 1
    for wanted, part in zip(rule.parts, rule.parts[1:], strict=False):
        direct = wanted[0] == ">"
        while place >= 0 and not _simple_match(part, ancestors[place]):
            if direct:
                return False
            place -= 1
        if place < 0:
            return False
        place -= 1
    return True


def _simple_match(part: tuple[str, str, frozenset[str], str], node: Node) -> bool:
    _, kind, classes, identity = part
    if kind not in ("*", node.tag):
        return False
    if identity and node.get("id") != identity:
        return False
    return not classes or classes <= set(node.get("class").split())


_NAMED = {
    "black": "#000000",
    "silver": "#c0c0c0",
    "gray": "#808080",
    "grey": "#808080",
    "white": "#ffffff",
    "maroon": "#800000",
    "red": "#ff0000",
    "purple": "#800080",
    "fuchsia": "#ff00ff",
    "magenta": "#ff00ff",
    "green": "#008000",
    "lime": "#00ff00",
    "olive": "#808000",
    "yellow": "#ffff00",
    "navy": "#000080",
    "blue": "#0000ff",
    "teal": "#008080",
    "aqua": "#00ffff",
    "cyan": "#00ffff",
    "orange": "#ffa500",
    "brown": "#a52a2a",
    "pink": "#ffc0cb",
    "violet": "#ee82ee",
    "darkblue": "#00008b",
    "darkred": "#8b0000",
    "darkgreen": "#006400",
    "lightgray": "#d3d3d3",
    "lightgrey": "#d3d3d3",
    "darkgray": "#a9a9a9",
    "darkgrey": "#a9a9a9",
}


def colour_of(style: dict[str, str]) -> str | None:
    """The colour of the line, else of the filling, as `#rrggbb`; None where neither is one."""
    for name in ("stroke", "fill"):
        value = style.get(name, "none" if name == "stroke" else "black")
        if value.lower() == "currentcolor":
            value = style.get("color", "black")
        if value.lower() not in _NOTHING:
            return parse_colour(value)
    return None


def is_painted(style: dict[str, str]) -> bool:
    """False when neither line nor filling is drawn."""
    return is_stroked(style) or is_filled(style)


def is_stroked(style: dict[str, str]) -> bool:
    """Whether the line is drawn."""
    drawn = style.get("stroke", "none").strip().lower() not in _NOTHING
    return drawn and not is_clear(style, "stroke-opacity")


def is_filled(style: dict[str, str]) -> bool:
    """Whether the filling is drawn."""
    drawn = style.get("fill", "black").strip().lower() not in _NOTHING
    return drawn and not is_clear(style, "fill-opacity")


def is_clear(style: dict[str, str], name: str) -> bool:
    """Whether an opacity is stated as zero."""
    try:
        return float(style.get(name, "1").strip().rstrip("%")) <= 0.0
    except ValueError:
        return False


def parse_colour(value: str) -> str | None:
    """A CSS colour as `#rrggbb`, None where it is not known here."""
    value = value.strip().lower()
    if re.fullmatch(r"#[0-9a-f]{6}(?:[0-9a-f]{2})?", value):
        return value[:7]
    if re.fullmatch(r"#[0-9a-f]{3,4}", value):
        return "#" + "".join(2 * c for c in value[1:4])
    match = re.fullmatch(r"rgba?\(([^)]*)\)", value)
    if match:
        parts = re.split(r"[\s,/]+", match[1].strip())[:3]
        try:
            levels = [float(p[:-1]) * 2.55 if p.endswith("%") else float(p) for p in parts]
        except ValueError:
            return None
        if len(levels) == 3:
            return "#" + "".join(f"{min(255, max(0, round(v))):02x}" for v in levels)
        return None
    return _NAMED.get(value)
