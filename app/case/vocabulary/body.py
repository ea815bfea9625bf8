"""What every body shares: types for text and figures, and the base class.

Unknown is None, never zero and never "no". Units are those of `vocabulary.md`; they stand in the docstrings.
"""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field


def plain_text(text: str) -> str:
    """Text that every database and every JSON reader can carry."""
    if "\x00" in text:
        raise ValueError("holds a NUL character")
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise ValueError("holds half a character (a lone surrogate)") from error
    return text


Text = Annotated[str, Field(max_length=2000), AfterValidator(plain_text)]
Code = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(plain_text)]
Texts = Annotated[tuple[Code, ...], Field(strict=False, max_length=200)]
Number = Annotated[float, Field(ge=-1e9, le=1e9, allow_inf_nan=False)]
Count = Annotated[int, Field(ge=-(10**9), le=10**9)]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]


class Body(BaseModel):
    """One kind of entry. `note` is free text of the station, on every kind."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, populate_by_name=True)
    kind: ClassVar[str]
    version: ClassVar[int] = 1
    note: Text | None = None
