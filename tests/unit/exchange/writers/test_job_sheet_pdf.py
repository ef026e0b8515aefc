"""The job sheet's PDF, read back by another library (pypdf)."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from lasernest.errors import UnwritableFileError
from lasernest.exchange.writers.job_sheet_pdf import job_sheet_pdf, write_job_sheet_pdf
from lasernest.exchange.writers.pdf.file import Paper
from tests.unit.exchange.writers.job_sheets import job_sheet, one_sheet


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def texts(data: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in read(data).pages]


def test_everything_is_on_the_paper() -> None:
    first, plan = texts(job_sheet_pdf(job_sheet()))
    for words in (
        "Größe Ж & <co>", "12AB-34CD", "2026-11-25", "birch plywood 3 mm", "0.182 ± 0.006 mm",
        "comb, 6 days old", "Before you cut", "The kerf was never measured.", "Cut case.dxf.",
        "Stay with the machine.", "2 × lid: too large for the sheet", "page 1 of 2",
    ):  # fmt: skip
        assert words in first, words
    for words in (
        "Sheet 1 of 1", "case.dxf", "Proof passed.", "outer cut", "inner cut", "score", "engrave",
        "kept offcut", "20.5%", "front", "a – b", "+0.050", "+0.048", "+0.051", "± 0.008", "press",
        "1 × front, 1 × lid <b>&, 1 × a-name-that-is-long".replace(" ×", "\N{NO-BREAK SPACE}×"),
    ):  # fmt: skip
        assert words.replace("\N{NO-BREAK SPACE}", " ") in plan, words


def test_a_name_without_room_gets_a_number_and_a_key() -> None:
    (_, plan) = texts(job_sheet_pdf(job_sheet()))
    assert "Numbers: 1 a-name-that-is-long." in plan


def test_a_failed_proof_cannot_be_overlooked() -> None:
    (_, plan) = texts(job_sheet_pdf(job_sheet(proved=False)))
    assert "PROOF FAILED: do not cut this file." in plan
    assert "front is lost: it is not cut out of the sheet." in plan


def test_plan_is_drawn_to_scale() -> None:
    """The hole of 3.2 mm diameter less the kerf of 0.2 is drawn as four quarter circles of 1.5."""
    reader = read(job_sheet_pdf(job_sheet()))
    content = reader.pages[1].get_contents().get_data().decode("latin-1")
    scale = min(182.0 / 300.0, 150.0 / 200.0)
    (frame,) = {
        float(m) for m in re.findall(r"^([\d.]+) 0 0 \1 [\d.]+ [\d.]+ cm$", content, re.M)
        if abs(float(m) - scale) < 1e-6
    }  # fmt: skip
    assert frame == pytest.approx(scale)
    # the panel front lies at 10, 10 and its first hole at 10, 30 in it
    starts = re.findall(r"^([\d.]+) ([\d.]+) m$", content, re.M)
    right = [(float(x), float(y)) for x, y in starts]
    assert any(abs(x - 20) < 1.51 and abs(y - 40) < 1.51 for x, y in right)


def test_lines_are_told_apart_without_colour() -> None:
    content = read(job_sheet_pdf(job_sheet())).pages[1].get_contents().get_data().decode("latin-1")
    assert not re.search(r"\d (RG|rg|K|k|SC|sc)\b", content)  # nothing but greys
    dashes = set(re.findall(r"^\S+ G \S+ w 1 J 1 j \[(.*?)\] 0 d$", content, re.M))
    assert len(dashes) >= 3  # solid, dashed, dotted
    widths = set(re.findall(r"^0 G (\S+) w 1 J 1 j \[\] 0 d$", content, re.M))
    assert len(widths) >= 2  # outer and inner cuts


def test_same_sheet_same_bytes_and_any_paper(tmp_path: Path) -> None:
    assert job_sheet_pdf(job_sheet()) == job_sheet_pdf(job_sheet())
    page = read(job_sheet_pdf(job_sheet(), paper=Paper.LETTER)).pages[0]
    # ANSI/ASME Y14.1: letter is 8.5 x 11 in
    assert [float(v) for v in page.mediabox[2:]] == pytest.approx([612.0, 792.0], abs=1e-3)
    assert write_job_sheet_pdf(job_sheet(), tmp_path / "s.pdf") == 2
    with pytest.raises(UnwritableFileError):
        write_job_sheet_pdf(job_sheet(), tmp_path / "no" / "s.pdf")


def test_long_lists_go_on_on_further_pages() -> None:
    sheet = replace(
        job_sheet(title="word " * 60),
        steps=tuple(f"Step {i} " + "with many words " * 20 for i in range(40)),
        doubts=tuple(f"Doubt {i} is long. " * 9 for i in range(30)),
        sheets=(one_sheet(), one_sheet()),
        joints=job_sheet().joints * 90,
    )
    pages = texts(job_sheet_pdf(sheet))
    whole = " ".join(pages)
    assert all(f"Step {i} with" in whole for i in range(40))
    assert all(f"Doubt {i} is" in whole for i in range(30))
    assert whole.count("a – b") == 90
    assert sum("joint kind size" in page for page in pages) >= 2  # the head is repeated


def test_only_letters_used_are_embedded_and_their_widths_are_the_fonts() -> None:
    from fontTools.ttLib import TTFont

    from lasernest.resources import resource

    reader = read(job_sheet_pdf(job_sheet()))
    font = reader.pages[0]["/Resources"]["/Font"]["/R"]
    below = font["/DescendantFonts"][0].get_object()
    program = below["/FontDescriptor"]["/FontFile3"].get_data()
    assert 1000 < len(program) < 60_000
    with TTFont(resource("fonts/Inter-Regular.otf")) as inter:
        order, metrics = inter.getGlyphOrder(), inter["hmtx"].metrics
        listed = below["/W"]
        for number, widths in zip(listed[::2], listed[1::2], strict=True):
            wanted = 1000 * metrics[order[int(number)]][0] / inter["head"].unitsPerEm
            assert float(widths[0]) == pytest.approx(wanted, abs=0.51)
        assert len(listed) // 2 < 120
