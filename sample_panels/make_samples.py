"""Draw every sample panel anew: `python sample_panels/make_samples.py`.

The same files come out on every run; tests/e2e/test_samples.py holds them to that.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from making import broken, cabinet, clock, moth_case, station, svg  # noqa: E402 - beside this script

SAMPLES = {
    "seed-drawer.dxf": cabinet.seed_drawer,
    "seed-cabinet-sides.dxf": cabinet.seed_cabinet_sides,
    "seed-cabinet-shelves.dxf": cabinet.seed_cabinet_shelves,
    "seed-cabinet-top-and-back.dxf": cabinet.seed_cabinet_top_and_back,
    "label-plates.dxf": cabinet.label_plates,
    "drawer-pulls.dxf": cabinet.drawer_pulls,
    "station-louvres.dxf": station.station_louvres,
    "station-base-plate.dxf": station.station_base_plate,
    "station-screen.svg": svg.station_screen,
    "rain-gauge-scale.svg": svg.rain_gauge_scale,
    "clock-dial.dxf": clock.clock_dial,
    "clock-hands.dxf": clock.clock_hands,
    "clock-case.dxf": clock.clock_case,
    "clock-feet.svg": svg.clock_feet,
    "moth-case-walls.dxf": moth_case.moth_case_walls,
    "moth-case-front.dxf": moth_case.moth_case_front,
    "plant-tags.svg": svg.plant_tags,
    "trellis-fan.svg": svg.trellis_fan,
    "broken/gap-in-outline.dxf": broken.gap_in_outline,
    "broken/open-outline.dxf": broken.open_outline,
    "broken/cut-off-file.dxf": broken.cut_off_file,
    "broken/doubled-lines.dxf": broken.doubled_lines,
    "broken/wrong-unit-header.dxf": broken.wrong_unit_header,
    "broken/web-page.dxf": broken.web_page,
    "broken/decimal-commas.dxf": broken.decimal_commas,
    "broken/crossing-outline.svg": broken.crossing_outline,
}
"""File names below this folder, and what draws them."""


def main() -> None:
    """Write every sample beside this script."""
    for name, draw in SAMPLES.items():
        path = HERE / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(draw(), encoding="utf-8", newline="\n")
        print(path.relative_to(HERE))


if __name__ == "__main__":
    main()
