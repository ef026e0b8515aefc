"""The job sheet from the command line: what is written is there, refusals are one sentence."""

from __future__ import annotations

from pathlib import Path

import pypdf

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"


def test_demo_job_on_paper(lasernest, tmp_path: Path) -> None:
    assert lasernest("demo", "--out", "demo", "--seconds", 0).code == 0
    job = tmp_path / "demo" / "demo.lasernest"
    files = sorted((tmp_path / "demo").glob("seed-cabinet*.dxf"))
    cut = [word for file in files for word in ("--cut", file)]
    told = lasernest("report", job, *cut, "--out", "sheet.pdf", "--json").json
    pages = pypdf.PdfReader(tmp_path / "sheet.pdf", strict=True).pages
    assert len(pages) == told["pages"] == 1 + len(files)
    assert [sheet["proved"] for sheet in told["sheets"]] == [True] * len(files)
    assert sum(sum(s["panels"].values()) for s in told["sheets"]) == 47
    assert told["code"] in pages[0].extract_text()
    assert "never measured" in " ".join(told["doubts"]) or "nobody measured" in told["doubts"][0]
    done = lasernest("report", tmp_path, "--find", told["code"])
    assert (done.code, done.out.strip()) == (0, str(job))
    assert lasernest("report", job, "--out", "sheet.html").code == 0
    assert told["code"] in (tmp_path / "sheet.html").read_text("utf-8")


def test_a_job_kept_with_its_plan(lasernest, tmp_path: Path) -> None:
    drawing = SAMPLES / "seed-drawer.dxf"
    words = ["--sheet", "600x400", "--kerf", 0.2, "--out", "cut.dxf", "--save", "kept.lasernest"]
    assert lasernest("sheet", drawing, *words).code == 0
    told = lasernest(
        "report", "kept.lasernest", "--cut", "cut.dxf", "--out", "s.pdf", "--json"
    ).json
    assert [sheet["proved"] for sheet in told["sheets"]] == [True]
    assert told["figures"]["Kerf, full width"] == {"value": "0.200 mm", "rests_on": "given"}


def test_refusals(lasernest, tmp_path: Path) -> None:
    assert lasernest("report", "no.lasernest", "--out", "a.pdf").code == 1
    done = lasernest("report", SAMPLES / "seed-drawer.dxf", "--out", "a.pdf")
    assert done.code == 2
    assert "names no stock" in done.err
    assert lasernest("report", "x.lasernest", "--out", "a.docx").code == 2
    assert "no job in" in lasernest("report", tmp_path, "--find", "1234-5678").sentence
    assert not list(tmp_path.iterdir())
