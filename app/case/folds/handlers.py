"""Kind to handler, over all families."""

from __future__ import annotations

from app.case.folds import airway, course, kit, protection, variants
from app.case.folds.handler import Handler

HANDLERS: dict[str, Handler] = {
    **course.HANDLERS,
    **kit.HANDLERS,
    **protection.HANDLERS,
    **airway.HANDLERS,
    **variants.HANDLERS,
}
