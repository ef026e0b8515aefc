"""The entry of the window.

It loads no more than it needs to read its arguments: every helper process
(`services.apart`) loads its program's entry anew, and none of them draws.
"""

from __future__ import annotations

import argparse
import logging
import sys
from collections.abc import Sequence
from pathlib import Path

from lasernest.folders import use_profile


def main(arguments: Sequence[str] | None = None) -> None:
    """`lasernest-window`: the window without a terminal."""
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    reader = argparse.ArgumentParser(
        prog="lasernest-window", description="Opens the window, on these files if any are given."
    )
    reader.add_argument("files", nargs="*", type=Path, help="drawings, or a job file")
    reader.add_argument(
        "--profile",
        metavar="FOLDER",
        help="keep shop book and settings of this run in FOLDER, for trying things",
    )
    told = reader.parse_args(arguments)
    if told.profile:
        use_profile(told.profile)
    from lasernest.gui.windows import run  # noqa: PLC0415 - helpers are spared it

    sys.exit(run(told.files))


if __name__ == "__main__":
    main()
