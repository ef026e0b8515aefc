"""The command line of a packed program."""

from multiprocessing import freeze_support

from lasernest.cli.main import main

if __name__ == "__main__":
    freeze_support()  # helpers of the window are this program, started another way
    main()
