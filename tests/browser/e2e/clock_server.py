"""`doorside` on a clock that a test sets: the moment stands in a file and moves only when the test writes another.

Nothing of the product is changed for it: what asks the machine's clock is put in its place before anything else is
read in, the server's own moment and the answer to a station that compares its clock.
"""

from __future__ import annotations

import os
import sys
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace

import app.base.time as clock

CLOCK = "E2E_CLOCK"


def moment() -> datetime:
    """The moment that the test has set last."""
    return datetime.fromisoformat(Path(os.environ[CLOCK]).read_text("utf-8"))


if __name__ == "__main__":
    clock.utc_now = moment
    from app.web.api import clock as compared

    compared.time = SimpleNamespace(time_ns=lambda: round(moment().timestamp() * 1e9))  # type: ignore[assignment]
    from app.cli import main

    sys.exit(main())
