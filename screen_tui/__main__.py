"""``python -m screen_tui``."""

import sys

from screen_tui.cli import main

if __name__ == "__main__":
    sys.exit(main())
