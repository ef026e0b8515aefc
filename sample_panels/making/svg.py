"""Sample drawings in SVG, written as text: one element kind or transform after another.

Ids name the panels; groups called SCORE and ENGRAVE hold lines that are not cut through.
"""

from __future__ import annotations

_CUT = 'fill="none" stroke="#000000" stroke-width="0.25"'
_SCORE = 'id="SCORE" fill="none" stroke="#e69f00" stroke-width="0.25"'
_ENGRAVE = 'id="ENGRAVE" fill="none" stroke="#cc79a7" stroke-width="0.25"'


def _svg(width: str, height: str, view_box: str, title: str, body: str) -> str:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="{view_box}">\n<title>{title}</title>\n{body}</svg>\n'
    )


def station_screen() -> str:
    """Display cover: rounded rectangles, a turned group, round and rectangular holes; mm."""
    ticks = "".join(
        f'<line x1="{20 + 10 * i}" y1="{78 if i % 5 else 75}" x2="{20 + 10 * i}" y2="82"/>\n'
        for i in range(11)
    )
    holes = "".join(
        f'<circle cx="{x}" cy="{y}" r="1.6"/>\n' for x in (6, 134) for y in (6, 84)
    )  # fmt: skip
    body = f"""<g id="screen-cover" {_CUT}>
<rect x="0" y="0" width="140" height="90" rx="6"/>
<rect x="18" y="16" width="72" height="48" rx="2" ry="2"/>
{holes}<g transform="translate(114 40) rotate(30)">
<rect x="-14" y="-3" width="28" height="6" rx="3"/>
<rect x="-14" y="-14" width="28" height="6" rx="3"/>
<rect x="-14" y="8" width="28" height="6" rx="3"/>
</g>
</g>
<g {_SCORE}>
{ticks}<polyline points="20,72 38,70 52,73 70,69 90,71 120,68"/>
</g>
<g id="screen-foot" {_CUT} transform="translate(0 100)">
<path d="M0 0 h60 v20 a20 20 0 0 1 -20 20 h-20 a20 20 0 0 1 -20 -20 z"/>
<circle cx="30" cy="20" r="8"/>
</g>
"""
    return _svg("140mm", "140mm", "0 0 140 140", "Display cover and foot, 3 mm acrylic", body)


_LEAF = (
    "M0 -48 C18 -34 26 -12 24 6 C22 22 12 30 5 33 L5 78 L0 86 L-5 78 L-5 33 "
    "C-12 30 -22 22 -24 6 C-26 -12 -18 -34 0 -48 Z"
)
_HEART = "M0 34 C-40 8 -34 -26 -12 -26 C-4 -26 0 -20 0 -14 C0 -20 4 -26 12 -26 C34 -26 40 8 0 34 Z"


def plant_tags() -> str:
    """Four tags from cubic curves under scale, rotate, mirror and matrix; mm."""
    vein = '<polyline points="0,-38 0,28"/><polyline points="-14,-8 0,4 14,-8"/>'
    places = {
        "leaf-tag": "translate(30 54)",
        "leaf-tag-small": "translate(86 44) scale(0.8)",
        "leaf-tag-tilted": "translate(150 60) rotate(25)",
        "leaf-tag-mirrored": "translate(214 54) scale(-1 1)",
    }
    body = ""
    for name, transform in places.items():
        body += f'<g id="{name}" {_CUT} transform="{transform}">\n<path d="{_LEAF}"/>\n'
        body += '<circle cx="10" cy="6" r="2"/>\n</g>\n'
    veins = "".join(f'<g transform="{transform}">{vein}</g>\n' for transform in places.values())
    body += f"<g {_ENGRAVE}>\n{veins}</g>\n"
    body += (
        f'<g id="heart-tag" {_CUT} transform="matrix(0.6 0 0 0.6 58 132)">\n'
        f'<path d="{_HEART}"/>\n<circle cx="0" cy="2" r="5"/>\n</g>\n'
    )
    return _svg("250mm", "160mm", "0 0 250 160", "Plant tags, 3 mm plywood", body)


def rain_gauge_scale() -> str:
    """A scale in inches whose drawing unit is a thousandth: arcs, ellipse, many score lines."""
    ticks = ""
    for i in range(41):
        y = 5400 - 120 * i
        reach = 900 if i % 10 == 0 else 700 if i % 5 == 0 else 550
        ticks += f'<line x1="300" y1="{y}" x2="{reach}" y2="{y}"/>\n'
    body = f"""<g id="gauge-scale" {_CUT.replace("0.25", "8")}>
<path d="M250,0 H1250 A250,250 0 0 1 1500,250 V5750 A250,250 0 0 1 1250,6000 H250
 A250,250 0 0 1 0,5750 V250 A250,250 0 0 1 250,0 Z"/>
<ellipse cx="1150" cy="900" rx="150" ry="400"/>
<circle cx="750" cy="250" r="85"/>
<circle cx="750" cy="5750" r="85"/>
</g>
<g {_SCORE.replace("0.25", "8")}>
{ticks}</g>
"""
    return _svg("1.5in", "6in", "0 0 1500 6000", "Rain gauge scale, 3 mm acrylic", body)


def trellis_fan() -> str:
    """A trellis in centimetres: polygons, ellipses and closed polylines as openings."""
    openings = ""
    for row in range(4):
        for column in range(4 + row % 2):
            x, y = 66 + 36 * column - 18 * (row % 2), 30 + 31 * row
            points = " ".join(
                f"{x + dx},{y + dy}"
                for dx, dy in ((0, -16), (13.5, -8), (13.5, 8), (0, 16), (-13.5, 8), (-13.5, -8))
            )
            openings += f'<polygon points="{points}"/>\n'
    body = f"""<g id="trellis" {_CUT}>
<polygon points="0,0 240,0 200,180 150,180 150,172 90,172 90,180 40,180"/>
{openings}<ellipse cx="30" cy="24" rx="8" ry="14" transform="rotate(-12 30 24)"/>
<ellipse cx="210" cy="24" rx="8" ry="14" transform="rotate(12 210 24)"/>
<polyline points="70,150 82,150 76,162 70,150"/>
<polyline points="158,150 170,150 164,162 158,150"/>
</g>
"""
    return _svg("24cm", "18cm", "0 0 240 180", "Trellis for a pot, 3 mm plywood", body)


def clock_feet() -> str:
    """A foot and its mirror image by a matrix: relative commands, smooth and quadratic curves."""
    foot = (
        "m0 0 h70 v-12 q0 -8 -8 -8 t-8 -8 c0 -14 -10 -22 -22 -22 s-22 8 -22 22 c0 8 -10 6 -10 14 z"
    )
    holes = '<rect x="30" y="42" width="3" height="14"/>\n<circle cx="37" cy="24" r="4"/>'
    body = f"""<g id="foot-left" {_CUT}>
<path d="M5 60 {foot}"/>
{holes}
</g>
<g id="foot-right" {_CUT} transform="matrix(-1 0 0 1 160 0)">
<path d="M5 60 {foot}"/>
{holes}
</g>
<g id="spacer" {_CUT}>
<path d="M62 110 a18 18 0 1 0 36 0 a18 18 0 1 0 -36 0 z
 M72 110 a8 8 0 1 1 16 0 a8 8 0 1 1 -16 0 z"/>
</g>
"""
    return _svg("160mm", "150mm", "0 0 160 150", "Feet and spacer, 3 mm plywood", body)
