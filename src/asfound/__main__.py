"""``python -m asfound``: the same as the console script."""

from asfound.cli.entry import run

if __name__ == "__main__":
    run()
