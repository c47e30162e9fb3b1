"""Lets `python -m editor` do what the command `standpipe` does."""

import sys

from editor.command_line import main

if __name__ == "__main__":
    sys.exit(main())
