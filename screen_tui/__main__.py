"""``python -m screen_tui``."""

import sys

from screen_tui.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
