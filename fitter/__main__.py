"""``python -m fitter``: the command line, where its script is not on the path."""

from fitter.cli import main

if __name__ == "__main__":
    main()
