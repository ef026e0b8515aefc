"""The command line of a packed program."""

from lasernest.cli.main import main

main()
