"""What a station's clock is worth: offset and delay from four moments, pure."""

from __future__ import annotations

from app.base.calculation import Graded, calculation
from app.base.inputs import Input


def _moment(name: str, meaning: str) -> Input:
    return Input(name, "s", meaning, least=-1e12, most=1e12)


@calculation(
    _moment("t1", "request leaves, asking clock"),
    _moment("t2", "request arrives, answering clock"),
    _moment("t3", "answer leaves, answering clock"),
    _moment("t4", "answer arrives, asking clock"),
    unit="[s,s]",
    formula="offset ((t2-t1)+(t3-t4))/2, delay (t4-t1)-(t3-t2)",
    source="RFC 5905, on-wire formula",
    evidence="M",
    cautions=("The offset is certain only to within half of the delay.",),
)
def ntp_offset_and_delay_s(*, t1: float, t2: float, t3: float, t4: float) -> Graded[tuple[float, float]]:
    """Offset of the answering clock from the asking one, and the delay there and back."""
    delay = (t4 - t1) - (t3 - t2)
    odd = ("A negative delay: a clock stepped during the exchange. Ask again.",) if delay < 0 else ()
    return Graded((((t2 - t1) + (t3 - t4)) / 2, delay), warnings=odd)
