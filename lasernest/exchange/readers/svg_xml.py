"""The XML of an SVG file as a light tree that remembers line numbers.

Parsing is defusedxml's: entities that unfold, and entities from outside, are
refused. The plain short texts that some drawing programs declare as entities
in their document type (namespace addresses) are put in first.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.sax import SAXParseException
from xml.sax.handler import ContentHandler, feature_external_ges, feature_namespaces

from defusedxml.common import DefusedXmlException
from defusedxml.sax import make_parser

from lasernest.errors import UnreadableFileError, Where

SVG_SPACE = "http://www.w3.org/2000/svg"
LINK_SPACE = "http://www.w3.org/1999/xlink"
EDITOR_SPACE = "http://www.inkscape.org/namespaces/inkscape"
"""Where the layers of the most used free drawing editor are marked."""

_MOST_ELEMENTS = 1_000_000
_DEEPEST = 200
_LONGEST_ENTITY = 400


@dataclass(slots=True, eq=False)
class Node:
    """An element: its local name, attributes, children, and where it stands.

    Attributes of SVG itself have their plain name, links and the editor's
    marks are `href`, `editor:label` and the like.
    """

    tag: str
    attributes: dict[str, str]
    line: int
    children: list[Node] = field(default_factory=list)
    text: str = ""
    style: dict[str, str] = field(default_factory=dict)

    def get(self, name: str, default: str = "") -> str:
        return self.attributes.get(name, default)


def nodes_of(root: Node) -> Iterator[Node]:
    """All elements in the order of the file."""
    stack = [root]
    while stack:
        node = stack.pop()
        yield node
        stack.extend(reversed(node.children))


def parse_svg(path: Path, data: bytes) -> Node:
    """Parse an SVG file.

    Raises:
        UnreadableFileError: no well-formed XML, no SVG, or entities that unfold.
    """
    handler = _Tree()
    parser = make_parser()
    parser.setFeature(feature_namespaces, True)
    parser.setFeature(feature_external_ges, False)
    # A document type that is named (SVG 1.1's own, mostly) is passed over and never fetched.
    parser.forbid_external = False
    parser.setContentHandler(handler)
    try:
        parser.parse(io.BytesIO(_with_plain_entities(path, data)))
    except DefusedXmlException as error:
        raise UnreadableFileError(
            "the file declares entities, which can unfold without end or reach other files",
            where=Where(file=path),
            todo="Export the drawing again as plain SVG.",
        ) from error
    except SAXParseException as error:
        raise UnreadableFileError(
            f"the file is cut off or damaged: {error.getMessage()}",
            where=Where(file=path, line=error.getLineNumber()),
            todo="Export the drawing again, or get a fresh copy of the file.",
        ) from error
    except (UnicodeError, LookupError, ValueError, _TooMuchError) as error:
        raise UnreadableFileError(
            f"the file cannot be read as SVG: {error}",
            where=Where(file=path),
            todo="Export the drawing again as plain SVG.",
        ) from error
    root = handler.root
    if root is None or root.tag != "svg":
        raise UnreadableFileError(
            "the file is XML but no SVG drawing",
            where=Where(file=path, line=None if root is None else root.line),
            todo="Export the drawing as plain SVG.",
        )
    return root


class _TooMuchError(Exception):
    """More elements, or deeper ones, than any drawing has."""


class _Tree(ContentHandler):
    def __init__(self) -> None:
        super().__init__()
        self.root: Node | None = None
        self._open: list[Node] = []
        self._count = 0
        self._locator: Any = None

    def setDocumentLocator(self, locator: Any) -> None:  # noqa: N802 - the library's name
        self._locator = locator

    def startElementNS(self, name: Any, qname: Any, attrs: Any) -> None:  # noqa: N802
        self._count += 1
        if self._count > _MOST_ELEMENTS or len(self._open) > _DEEPEST:
            raise _TooMuchError("it has more elements than a drawing can have")
        space, local = name
        tag = local if space in (SVG_SPACE, None) else f"{space}:{local}"
        attributes: dict[str, str] = {}
        for (attr_space, attr), value in attrs.items():
            if attr_space is None:
                attributes[attr] = value
            elif attr_space == LINK_SPACE and attr == "href":
                attributes.setdefault("href", value)
            elif attr_space == EDITOR_SPACE:
                attributes[f"editor:{attr}"] = value
        node = Node(tag, attributes, self._locator.getLineNumber())
        if self._open:
            self._open[-1].children.append(node)
        else:
            self.root = node
        self._open.append(node)

    def endElementNS(self, name: Any, qname: Any) -> None:  # noqa: N802
        self._open.pop()

    def characters(self, content: str) -> None:
        if self._open and self._open[-1].tag == "style":
            self._open[-1].text += content


def _with_plain_entities(path: Path, data: bytes) -> bytes:
    """The file with entities that are short plain text put in, and their declarations gone."""
    found = re.search(rb"<!DOCTYPE[^\[>]*\[(.*?)\]\s*>", data[:65536], re.DOTALL)
    if found is None or b"<!ENTITY" not in found[1]:
        return data
    subset = found[1]
    plain = re.compile(rb"<!ENTITY\s+([\w.-]+)\s+(?:\"([^\"&%<]*)\"|'([^'&%<]*)')\s*>")
    entities = {m[1]: m[2] or m[3] or b"" for m in plain.finditer(subset)}
    unexplained = plain.sub(b"", subset)
    if b"<!ENTITY" in unexplained or any(len(v) > _LONGEST_ENTITY for v in entities.values()):
        return data
    lines = b"\n" * data[: found.end()].count(b"\n")
    body = data[found.end() :]
    if len(body) + sum(body.count(b"&" + k + b";") * len(v) for k, v in entities.items()) > (
        4 * len(data) + 65536
    ):
        return data
    for name, value in entities.items():
        body = body.replace(b"&" + name + b";", value)
    head = data[: found.start()]
    return head + lines[head.count(b"\n") :] + body
