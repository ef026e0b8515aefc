"""`python -m lasernest` is the command line."""

if __name__ == "__main__":
    # Not loaded by the helper processes of the window, which load this module again.
    from lasernest.cli.main import main

    main()
