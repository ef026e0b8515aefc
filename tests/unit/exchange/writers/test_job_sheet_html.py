"""The job sheet as HTML, taken apart by the standard library's own parsers."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

from lasernest.exchange.writers.job_sheet_html import job_sheet_html, write_job_sheet_html
from tests.unit.exchange.writers.job_sheets import job_sheet


class Words(HTMLParser):
    """Texts and tags; what is not closed is noticed."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, attrs: object) -> None:
        pass

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def words(text: str) -> str:
    parser = Words()
    parser.feed(text)
    assert parser.open == []
    return " ".join(" ".join(parser.texts).split())


def plan(text: str) -> ElementTree.Element:
    start = text.index('<svg viewBox="-1 ')
    return ElementTree.fromstring(text[start : text.index("</svg>", start) + 6])


def test_everything_is_on_the_page_and_escaped(tmp_path: Path) -> None:
    write_job_sheet_html(job_sheet(), tmp_path / "s.html")
    text = (tmp_path / "s.html").read_text("utf-8")
    assert "<b>&" not in text
    shown = words(text)
    for word in (
        "Größe Ж & <co>", "12AB-34CD", "2026-11-25", "0.182 ± 0.006 mm", "comb, 6 days old",
        "The kerf was never measured.", "Proof passed.", "1 × lid <b>&", "+0.048", "± 0.008",
        "Numbers: 1 a-name-that-is-long.", "Stay with the machine.", "2 × lid: too large",
    ):  # fmt: skip
        assert word in shown, word
    assert "http" not in text  # nothing is loaded from elsewhere


def test_plan_is_in_millimetres_and_kinds_are_classes() -> None:
    svg = plan(job_sheet_html(job_sheet()))
    assert svg.get("viewBox") == "-1 -201 302 202"
    classes = [e.get("class") for e in svg if e.tag == "path"]
    assert classes == ["sheet", "kept", "outer", "inner", "score", "engrave"]
    names = [e.text for e in svg if e.tag == "text"]
    assert names == ["front", "lid <b>&", "1"]


def test_a_failed_proof_is_framed() -> None:
    assert 'class="verdict failed"' in job_sheet_html(job_sheet(proved=False))
    assert 'class="verdict failed"' not in job_sheet_html(job_sheet(proved=None))
