"""The window of a packed program."""

from lasernest.gui.main import main

main()
