"""Run the command line as `python -m tapemark`."""

from tapemark.cli import main

if __name__ == "__main__":
    main()
