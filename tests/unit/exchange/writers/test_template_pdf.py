"""Paper templates, taken apart by a reader of the tests' own."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Mark, Panel
from lasernest.errors import BadValueError, UnwritableFileError
from lasernest.exchange.writers.template_pdf import Paper, template_pdf, write_template_pdf
from tests.cut_kit import front, plate

Matrix = tuple[float, float, float, float, float, float]
Points = list[tuple[float, float]]


def objects(data: bytes) -> dict[int, str]:
    """All objects, found through the cross-reference table."""
    text = data.decode("latin-1")
    assert text.startswith("%PDF-1.")
    table = int(re.findall(r"startxref\n(\d+)\n%%EOF\n$", text)[0])
    assert text[table:].startswith("xref\n0 ")
    offsets = [int(o) for o in re.findall(r"(\d{10}) 00000 n ", text[table:])]
    found = {}
    for number, offset in enumerate(offsets, start=1):
        assert text[offset:].startswith(f"{number} 0 obj\n")
        found[number] = text[offset : text.index("endobj", offset)]
    return found


def pages(data: bytes) -> list[tuple[tuple[float, float], str]]:
    """Size in points and content of each page."""
    found = objects(data)
    result = []
    for number in map(int, re.findall(r"(\d+) 0 R", re.findall(r"/Kids \[(.*?)\]", found[2])[0])):
        box = re.findall(r"/MediaBox \[0 0 (\S+) (\S+)\]", found[number])[0]
        stream = found[int(re.findall(r"/Contents (\d+) 0 R", found[number])[0])]
        length = int(re.findall(r"/Length (\d+)", stream)[0])
        body = stream[stream.index("stream\n") + 7 :]
        assert body[length:].startswith("\nendstream")
        result.append(((float(box[0]), float(box[1])), body[:length]))
    return result


def drawn(content: str) -> list[Points]:
    """Corners of all paths in points of the page, the matrices applied."""
    stack: list[Matrix] = []
    now: Matrix = (1, 0, 0, 1, 0, 0)
    numbers: list[float] = []
    paths: list[Points] = []
    for token in re.sub(r"\((?:\\.|[^\\)])*\)|\[[^\]]*\]|/F1", " ", content).split():
        if re.fullmatch(r"-?[\d.]+", token):
            numbers.append(float(token))
            continue
        if token == "q":
            stack.append(now)
        elif token == "Q":
            now = stack.pop()
        elif token == "cm":
            a, b, c, d, e, f = numbers
            assert (b, c) == (0, 0)
            now = (now[0] * a, 0, 0, now[3] * d, now[0] * e + now[4], now[3] * f + now[5])
        elif token in ("m", "l", "c"):
            x, y = numbers[-2:]
            point = (now[0] * x + now[4], now[3] * y + now[5])
            if token == "m":
                paths.append([])
            paths[-1].append(point)
        numbers = []
    assert stack == []
    return paths


def sides(points: Points) -> tuple[float, float]:
    xs, ys = zip(*points, strict=True)
    return (max(xs) - min(xs), max(ys) - min(ys))


def test_the_check_line_measures_100_mm() -> None:
    # X16: 283.464567 points are 100 mm
    ((_, content),) = pages(template_pdf([plate()], title="t"))
    lengths = [sides(path)[0] for path in drawn(content)]
    assert (
        lengths.count(pytest.approx(283.464567, abs=1e-5)) == 2
    )  # the line, and the plate's width
    assert "(This line is 100 mm long. Print at actual size.) Tj" in content


@pytest.mark.parametrize(
    ("paper", "size"), [(Paper.A4, (595.275591, 841.889764)), (Paper.LETTER, (612, 792))]
)
def test_paper_sizes(paper: Paper, size: tuple[float, float]) -> None:
    ((found, _),) = pages(template_pdf([plate()], title="t", paper=paper))
    assert found == pytest.approx(size, abs=1e-5)


def test_panels_are_drawn_at_full_size() -> None:
    mark = Mark(Contour.polyline([(10, 10), (10, 50)]))
    panel = Panel.of("p", Contour.rectangle(0, 0, 100, 60), [Contour.circle(30, 30, 12)], [mark])
    ((_, content),) = pages(template_pdf([panel.posed(Pose(500, 700))], title="t"))
    outline, circle, score = drawn(content)[:3]
    mm = 72 / 25.4
    assert sides(outline) == pytest.approx((100 * mm, 60 * mm), abs=1e-4)
    assert sides(circle) == pytest.approx((24 * mm, 24 * mm), abs=1e-4)
    assert sides(score) == pytest.approx((0, 40 * mm), abs=1e-4)
    # where they lie to each other
    assert circle[0][0] - min(x for x, _ in outline) == pytest.approx(42 * mm, abs=1e-4)


def test_curves_stay_on_the_circle() -> None:
    panel = Panel.of("disc", Contour.circle(0, 0, 80))
    ((_, content),) = pages(template_pdf([panel], title="t"))
    first = content.index(" m\n") + 3
    x, y = map(float, content[:first].splitlines()[-1].split()[:2])
    here = complex(x, y)
    for line in re.findall(r"^(.+) c$", content, re.MULTILINE):
        a, b, c, d, e, f = map(float, line.split())
        p1, p2, end = complex(a, b), complex(c, d), complex(e, f)
        for t in (0.25, 0.5, 0.75):
            s = 1 - t
            point = s**3 * here + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * end
            assert abs(point) == pytest.approx(80, abs=5e-4)
        here = end


def test_large_panels_are_tiled_without_a_gap() -> None:
    panel = Panel.of("top", Contour.rectangle(0, 0, 500, 400))
    found = pages(template_pdf([panel], title="t"))
    labels = [re.findall(r"\((row[^)]*)\)", content)[0] for _, content in found]
    assert len(found) == len(set(labels)) == len(re.findall("row", " ".join(labels)))
    mm = 72 / 25.4
    seen = []
    for _, content in found:
        outline = drawn(content)[0]
        assert sides(outline) == pytest.approx((500 * mm, 400 * mm), abs=1e-4)
        x, y, w, h = map(
            float, re.findall(r"^(\S+) (\S+) (\S+) (\S+) re W n", content, re.MULTILINE)[0]
        )
        # the window of this page in the panel's own coordinates
        left = x - min(px for px, _ in outline) / mm
        low = y - min(py for _, py in outline) / mm
        seen.append((left, low, left + w, low + h))
    steps = [i * 2.5 for i in range(201)]
    for px in steps:
        for py in [i * 2.5 for i in range(161)]:
            assert any(a <= px <= c and b <= py <= d for a, b, c, d in seen)
    # neighbours overlap by 10 mm
    firsts = sorted({round(a, 3) for a, _, _, _ in seen})
    assert all(b - a == pytest.approx(seen[0][2] - seen[0][0] - 10) for a, b in pairwise(firsts))


def test_pages_without_panels_are_left_out() -> None:
    apart = [plate("a").posed(Pose(0, 0)), plate("b").posed(Pose(1100, 900))]
    assert len(pages(template_pdf(apart, title="t"))) == 2


def test_names_with_letters_that_need_care() -> None:
    panel = Panel.of("Gehäuse (oben) \\ 蓋", Contour.rectangle(0, 0, 50, 50))
    ((_, content),) = pages(template_pdf([panel], title="a (b"))
    assert "(Geh\xe4use \\(oben\\) \\\\ ?) Tj" in content
    assert "(a \\(b: page 1 of 1) Tj" in content


def test_same_panels_same_bytes() -> None:
    assert template_pdf([front()], title="t") == template_pdf([front()], title="t")


def test_written_file_and_number_of_pages(tmp_path: Path) -> None:
    count = write_template_pdf([front()], tmp_path / "t.pdf", title="t", paper=Paper.LETTER)
    assert count == 1
    assert len(pages((tmp_path / "t.pdf").read_bytes())) == 1
    with pytest.raises(UnwritableFileError):
        write_template_pdf([front()], tmp_path / "nowhere" / "t.pdf", title="t")


def test_what_cannot_be_printed() -> None:
    with pytest.raises(BadValueError, match="there are no panels for a template"):
        template_pdf([], title="t")
    huge = Panel.of("hall", Contour.rectangle(0, 0, 9000, 9000))
    with pytest.raises(BadValueError, match="a template of 9001 x 9001 mm would take"):
        template_pdf([huge], title="t")


def test_fewest_pages() -> None:
    wide = Panel.of("wide", Contour.rectangle(0, 0, 250, 150))
    ((size, _),) = pages(template_pdf([wide], title="t"))
    assert size[0] > size[1]  # across the paper it takes one page
    assert math.isclose(size[0], 841.889764, abs_tol=1e-5)
