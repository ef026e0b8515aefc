"""`python -m lasernest` is the command line."""

from lasernest.cli.main import main

if __name__ == "__main__":
    main()
