"""The command line: ``tracelabels`` and ``python -m tracelabels``."""

from tracelabels.cli.root import main

if __name__ == "__main__":
    main()
