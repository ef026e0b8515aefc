"""Makes `window.png` for the README from the running program.

    xvfb-run -s "-screen 0 1400x900x24" python resources/pictures/make_window_picture.py [SECONDS]

Opens the window on the sample job, arranges it in birch plywood of 600 x 400 mm
and writes what is seen at 1280 x 800; a smaller screen would make it smaller.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from PySide6.QtCore import QEventLoop
from PySide6.QtWidgets import QApplication

from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.settings import Settings
from lasernest.gui.window import Window
from lasernest.services.commands import SetSheetSize
from lasernest.services.workbench import Workbench


def wait_for(window: Window, kind: str) -> None:
    """Let the window work until a task has ended."""
    loop = QEventLoop()
    task = window.desk.tasks.task(kind)
    if task is not None:
        task.ended.connect(loop.quit)
        loop.exec()


def main() -> None:
    """Write the picture beside this file."""
    os.environ["LASERNEST_HOME"] = tempfile.mkdtemp(prefix="lasernest-picture-")
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    app = QApplication(sys.argv[:1])
    theme.install(app)
    theme.choose(brightness=Brightness.LIGHT)
    window = Window(Workbench(), Settings(search_seconds=seconds, tour_seen=True))
    window.resize(1280, 800)
    window.show()
    window.desk.open_shop()
    wait_for(window, "shop")
    window.desk.importer.open_sample()
    wait_for(window, "import")
    stock = window.desk.job.setup.stock
    assert stock is not None
    size = next(s for s in stock.sizes if (s.width_mm, s.height_mm) == (600.0, 400.0))
    window.desk.do(SetSheetSize(size))
    window.desk.arrange()
    wait_for(window, "arrange")
    while not window.board.canvas.settled:
        app.processEvents()  # a script may; the window itself never does
    window.grab().save(str(Path(__file__).with_name("window.png")))
    window.close()


if __name__ == "__main__":
    main()
