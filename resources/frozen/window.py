"""The window of a packed program."""

from multiprocessing import freeze_support

if __name__ == "__main__":
    freeze_support()  # helpers of the window are this program, started another way
    from lasernest.gui.main import main

    main()
