"""`mapper` and `python -m mapper`."""

import sys

from mapper.cli import main

if __name__ == "__main__":
    sys.exit(main())
