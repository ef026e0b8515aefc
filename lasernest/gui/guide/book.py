"""The pages of the guide, cut into sections that can be linked to and searched.

A page is a Markdown file in `resources/guide/`; its first heading is its title.
A section begins at a heading, or at an entry such as `**open-outline** – ...`.
A place in the guide is written `page#anchor`, as in a link between pages.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from lasernest.resources import resource

ORDER = (
    "first-job",
    "drawings",
    "joints",
    "kerf-and-fit",
    "sheets",
    "cut-file",
    "orders-and-compare",
    "figures",
    "findings",
    "cautions",
    "keys",
)
"""Names of the pages as a maker meets them; pages not named here follow."""

_HEADING = re.compile(r"^(#{1,4})\s+(.+?)\s*$")
_ENTRY = re.compile(r"^\*\*([^*]+)\*\* – (.*)$")
_LINK = re.compile(r"\[([^\]]+)\]\([^)]+\)")


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, or an entry's word, with the text below it."""

    page: str
    heading: str
    text: str
    """Without the marks of Markdown."""

    @property
    def place(self) -> str:
        return f"{self.page}#{anchor_of(self.heading)}"

    @property
    def words(self) -> str:
        """The heading as it is told in lists: the code of a finding is words joined by hyphens."""
        is_code = re.fullmatch(r"[a-z]+(-[a-z]+)+", self.heading)
        return self.heading.replace("-", " ").capitalize() if is_code else self.heading


@dataclass(frozen=True, slots=True)
class GuidePage:
    """One page."""

    name: str
    title: str
    markdown: str
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class Guide:
    """All pages, in order."""

    pages: tuple[GuidePage, ...]

    def page(self, name: str) -> GuidePage | None:
        """The page of this name."""
        return next((page for page in self.pages if page.name == name), None)

    def section(self, place: str) -> Section | None:
        """The section at `page#anchor`."""
        return next((s for p in self.pages for s in p.sections if s.place == place), None)

    def about(self, heading: str) -> Section | None:
        """The first section with this heading, on whatever page."""
        wanted = anchor_of(heading)
        sections = (s for page in self.pages for s in page.sections)
        return next((s for s in sections if anchor_of(s.heading) == wanted), None)

    def find(self, words: str) -> tuple[Section, ...]:
        """Sections that hold every word; those with all of them in the heading come first."""
        wanted = words.casefold().split()
        if not wanted:
            return ()
        headed, others = [], []
        for section in (s for page in self.pages for s in page.sections):
            heading = section.heading.casefold()
            if all(word in heading for word in wanted):
                headed.append(section)
            elif all(word in f"{heading} {section.text.casefold()}" for word in wanted):
                others.append(section)
        return (*headed, *others)


def anchor_of(heading: str) -> str:
    """What a link to a heading ends in, as web pages make it from Markdown."""
    kept = re.sub(r"[^\w\- ]", "", heading.strip().casefold())
    return kept.replace(" ", "-")


@lru_cache(maxsize=1)
def the_guide() -> Guide:
    """The guide that comes with the program, read once, and after it what changed."""
    changes = page_of("changes", resource("changes.md").read_text(encoding="utf-8"))
    # Its sections are all called Added and Fixed: no places to search for.
    return Guide((*read_guide(resource("guide")).pages, replace(changes, sections=())))


def read_guide(folder: Path) -> Guide:
    """Read the pages of a folder."""
    found = {path.stem: path for path in sorted(folder.glob("*.md"))}
    names = [name for name in ORDER if name in found]
    names += [name for name in found if name not in ORDER]
    return Guide(tuple(page_of(n, found[n].read_text(encoding="utf-8")) for n in names))


def page_of(name: str, markdown: str) -> GuidePage:
    """Cut a page into its sections."""
    sections: list[Section] = []
    heading, lines = "", list[str]()

    def close() -> None:
        if heading:
            text = " ".join(" ".join(lines).split())
            sections.append(Section(name, heading, text))

    for line in markdown.splitlines():
        begins, entry = _HEADING.match(line), _ENTRY.match(line)
        if begins or entry:
            close()
            heading = _plain(begins[2] if begins else entry[1] if entry else "")
            lines = [_plain(entry[2])] if entry else []
        else:
            lines.append(_plain(line))
    close()
    title = sections[0].heading if sections else name
    return GuidePage(name, title, markdown, tuple(sections))


def _plain(markdown: str) -> str:
    return re.sub(r"[*`|]|^[\-\d]+[.)]?\s|-{3,}", " ", _LINK.sub(r"\1", markdown)).strip()
