"""`python -m app.cli`, the same as `doorside`."""

import sys

from app.cli import main

sys.exit(main())
