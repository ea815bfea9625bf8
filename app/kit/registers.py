"""The registers of respirators, stock, kits and cylinders."""

from __future__ import annotations

from collections.abc import Iterable

from app.base.messages import N_
from app.base.register.spec import Field, Names, Problem, Register, Row
from app.kit.tables import (
    Cylinder,
    Kit,
    KitCheck,
    KitContent,
    KitTemplate,
    KitTemplateItem,
    Respirator,
    RespiratorStock,
)

ACTIVE = Field("active", N_("In use"), "yes", default=True)
CODE_HINT = N_("One word in small letters, as requests and trays name it: capnography.")


def _respirator(row: Row, names: Names) -> Iterable[Problem]:
    if str(row["model"]).startswith(("tight:", "hood", "none")):
        yield Problem(N_("Write the model alone, as it is printed on it."), column="model")


RESPIRATORS = Register(
    name="respirators",
    title=N_("Respirators"),
    one=N_("Respirator"),
    about=N_("Each exact model that is worn here. People are fit-tested for a model, not for a kind."),
    table=Respirator,
    fields=(
        Field("model", N_("Exact model"), required=True),
        Field(
            "face", N_("Kind"), "choice", required=True, default="half",
            choices={
                "half": N_("half mask or filtering facepiece"), "full": N_("full facepiece"),
                "hood": N_("powered hood, no fit test"),
            },
        ),
        Field("sizes", N_("Sizes"), default="", hint=N_("With spaces between: S M L. Empty: one size.")),
        Field("note", N_("Note")),
        ACTIVE,
    ),
    key=("model",),
    listed=("model", "face", "sizes", "active"),
    order=("-active", "model"),
    check=_respirator,
)  # fmt: skip

STOCK = Register(
    name="stock",
    title=N_("Respirator stock"),
    one=N_("Count of stock"),
    about=N_("How many of each model and size were counted, and when. What cases used since is taken off."),
    table=RespiratorStock,
    fields=(
        Field("respirator_id", N_("Model"), "ref", ref="respirators", required=True),
        Field("size", N_("Size"), default=""),
        Field("place", N_("Place"), default=""),
        Field("counted", N_("Counted"), "whole", "", 0, 1_000_000, required=True),
        Field("counted_at", N_("Counted at"), "moment", required=True),
        Field("reorder_at", N_("Order again at"), "whole", "", 0, 1_000_000),
    ),
    key=("respirator_id", "size", "place"),
    listed=("respirator_id", "size", "place", "counted", "counted_at", "reorder_at"),
    order=("respirator_id", "size"),
)

KIT_TEMPLATES = Register(
    name="kit-templates",
    title=N_("Kit lists"),
    one=N_("Kit list"),
    about=N_("What a kind of kit must hold, and which tray of a case it becomes."),
    table=KitTemplate,
    fields=(
        Field("name", N_("Kit list"), required=True),
        Field(
            "tray", N_("Becomes"), "choice", required=True,
            choices={"clean": N_("the clean tray"), "soiled": N_("the soiled tray"), "door": N_("held at the door")},
        ),
        ACTIVE,
    ),
    key=("name",),
    listed=("name", "tray", "active"),
    order=("-active", "name"),
)  # fmt: skip

KIT_ITEMS = Register(
    name="kit-items",
    title=N_("Items of kit lists"),
    one=N_("Item of a kit list"),
    about=N_("The lines of each kit list. Mandatory items are those whose lack is said at the first entry (R10)."),
    table=KitTemplateItem,
    fields=(
        Field("template_id", N_("Kit list"), "ref", ref="kit-templates", required=True),
        Field("code", N_("Code"), required=True, hint=CODE_HINT),
        Field("name", N_("Item"), required=True),
        Field("quantity", N_("How many"), "whole", "", 1, 1000, required=True, default=1),
        Field("mandatory", N_("Mandatory"), "yes", default=False),
    ),
    key=("template_id", "code"),
    listed=("template_id", "code", "name", "quantity", "mandatory"),
    order=("template_id", "code"),
)

KITS = Register(
    name="kits",
    title=N_("Kits"),
    one=N_("Kit"),
    about=N_("Each tray, trolley and bag that stands ready, where, and under which seal."),
    table=Kit,
    fields=(
        Field("name", N_("Kit"), required=True),
        Field("template_id", N_("Made up by"), "ref", ref="kit-templates", required=True),
        Field("place", N_("Place"), required=True),
        Field("seal", N_("Seal number")),
        ACTIVE,
    ),
    key=("name",),
    listed=("name", "template_id", "place", "seal", "active"),
    order=("-active", "name"),
)

KIT_CONTENTS = Register(
    name="kit-contents",
    title=N_("Contents of kits"),
    one=N_("Content of a kit"),
    about=N_("What lies in each kit, with the date to which it may be used."),
    table=KitContent,
    fields=(
        Field("kit_id", N_("Kit"), "ref", ref="kits", required=True),
        Field("code", N_("Code"), required=True, hint=CODE_HINT),
        Field("quantity", N_("How many"), "whole", "", 0, 1000, required=True, default=1),
        Field("expires_on", N_("Use by"), "day"),
        Field("lot", N_("Lot"), default=""),
    ),
    key=("kit_id", "code", "lot"),
    listed=("kit_id", "code", "quantity", "expires_on", "lot"),
    order=("expires_on", "kit_id"),
)


def _kit_check(row: Row, names: Names) -> Iterable[Problem]:
    if row["whole"] and not row["seal"]:
        yield Problem(N_("Write the number of the seal that is whole."), column="seal")


KIT_CHECKS = Register(
    name="kit-checks",
    title=N_("Kit checks"),
    one=N_("Kit check"),
    about=N_("The seal that somebody read on a kit, daily and after use."),
    table=KitCheck,
    fields=(
        Field("kit_id", N_("Kit"), "ref", ref="kits", required=True),
        Field("checked_at", N_("Checked at"), "moment", required=True),
        Field(
            "why", N_("Why"), "choice", required=True, default="daily",
            choices={"daily": N_("daily"), "after use": N_("after use")},
        ),
        Field("whole", N_("Seal whole"), "yes", default=True),
        Field("seal", N_("Seal number read")),
        Field("checked_by", N_("Checked by"), required=True),
        Field("note", N_("Note")),
    ),
    key=("kit_id", "checked_at"),
    listed=("kit_id", "checked_at", "why", "whole", "seal", "checked_by"),
    order=("-checked_at",),
    check=_kit_check,
)  # fmt: skip


def _cylinder(row: Row, names: Names) -> Iterable[Problem]:
    gauge, full = row["gauge_bar"], row["full_bar"]
    if gauge is not None and row["read_at"] is None:
        yield Problem(N_("Say when the gauge was read."), column="read_at")
    if isinstance(gauge, float) and isinstance(full, float) and gauge > 1.2 * full:
        yield Problem(N_("The gauge reads far above what a full one does: look at both figures."), column="gauge_bar")


CYLINDERS = Register(
    name="cylinders",
    title=N_("Oxygen cylinders"),
    one=N_("Cylinder"),
    about=N_("Each cylinder for moving patients. The same letter means another cylinder in the US and the UK."),
    table=Cylinder,
    fields=(
        Field("label", N_("Label"), required=True),
        Field("scheme", N_("Letters of"), "choice", choices={"UK": "UK", "US": "US"}, required=True),
        Field("size", N_("Size letter"), required=True),
        Field("gauge_bar", N_("Gauge"), "number", "bar", 0, 350),
        Field("full_bar", N_("A full one reads"), "number", "bar", 1, 350, hint=N_("As it is stamped or labelled.")),
        Field("read_at", N_("Read at"), "moment"),
        Field("expires_on", N_("Use by"), "day"),
        Field("place", N_("Place"), default=""),
        Field(
            "kit_id", N_("Lies in the kit"), "ref", ref="kits", hint=N_("It counts there as oxygen of the kit list.")
        ),
        ACTIVE,
    ),
    key=("label",),
    listed=("label", "scheme", "size", "gauge_bar", "full_bar", "read_at", "expires_on", "place"),
    order=("-active", "label"),
    check=_cylinder,
)
