"""Where the files lie that are not Python: templates, static files, migrations.

In a wheel they are packed under `app/_data/`, in a checkout they lie beside `app/`. Both are looked for, in this order,
so a server finds them from any working directory.
"""

from __future__ import annotations

from pathlib import Path

_APP = Path(__file__).resolve().parent.parent


def data(name: str) -> Path:
    """The folder `name` (`templates`, `static`, `migrations`) of this installation.

    Raises RuntimeError naming the folder when the installation lacks it.
    """
    for root in (_APP / "_data", _APP.parent):
        if (root / name).is_dir():
            return root / name
    raise RuntimeError(f"The folder {name}/ is missing from this installation. Install Doorside again.")
