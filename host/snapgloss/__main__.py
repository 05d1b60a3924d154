"""`python -m snapgloss`, where the folder of commands is not on the path."""

from snapgloss.cli.main import main

if __name__ == "__main__":
    main()
