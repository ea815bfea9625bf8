"""Sizes and depths of tubes, mask airways and suction catheters; cuff pressure."""

from __future__ import annotations

from app.base.calculation import Graded, calculation
from app.base.checks import OutOfRange, plain
from app.base.inputs import Input
from app.base.messages import N_
from app.bedside.given import SEX, WEIGHT_KG

_AGE = Input("age_y", "years", least=1, most=14)
_STEP = N_("Round to the nearest 0.5 mm and have the sizes 0.5 below and above at hand.")
_START = N_("A starting point: capnography, listening and imaging decide.")
MMHG_IN_CMH2O = 1.3595
_SIZES_FR = (5.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0)
_MASK_SIZES = ((5, 1), (10, 1.5), (20, 2), (30, 2.5), (50, 3), (70, 4), (100, 5))
_LARGEST_MASK = 6


@calculation(
    _AGE,
    unit="mm",
    formula="age/4 + 3.5",
    source="Motoyama; Duracher et al., Paediatr Anaesth 2008;18:113",
    evidence="C",
    cautions=(_STEP, N_("From about 2 years; adults go by sex and height.")),
)
def ett_cuffed_id_mm(*, age_y: float) -> float:
    """Inner diameter of a cuffed tube for a child, before rounding to a size."""
    return age_y / 4 + 3.5


@calculation(
    _AGE,
    unit="mm",
    formula="age/4 + 4",
    source="Cole, Anesthesiology 1957;18:506",
    evidence="C",
    cautions=(_STEP, N_("An uncuffed tube leaks aerosol.")),
)
def ett_uncuffed_id_mm(*, age_y: float) -> float:
    """Inner diameter of an uncuffed tube for a child, before rounding to a size."""
    return age_y / 4 + 4


@calculation(
    Input("age_y", "years", least=2, most=14),
    unit="cm",
    formula="age/2 + 12",
    source="textbook; within tolerance in 85 % of 300 children",
    evidence="C",
    cautions=(N_("At the lip."), _START),
)
def ett_oral_depth_cm(*, age_y: float) -> float:
    """Depth of an oral tube at the lip for a child."""
    return age_y / 2 + 12


@calculation(
    Input("id_mm", "mm", "inner diameter of the tube", least=2, most=10),
    unit="cm",
    formula="3 x inner diameter in mm",
    source="textbook rule",
    evidence="S",
    cautions=(_START,),
)
def ett_depth_3xid_cm(*, id_mm: float) -> float:
    """Depth of a tube from its size."""
    return 3 * id_mm


@calculation(
    SEX,
    Input("site", kind="word", choices=("upper incisors",), meaning="reference point"),
    unit="cm",
    formula="women 21, men 23 at the upper incisors",
    source="Owen & Cheney, Anesthesiology 1987;67:255",
    evidence="M",
    cautions=(_START, N_("Lips, teeth and nose differ: say the reference point.")),
)
def ett_adult_depth_cm(*, sex: str, site: str) -> float:
    """Depth of an oral tube in adults."""
    return 23.0 if sex == "M" else 21.0


@calculation(
    Input("ett_id_mm", "mm", "inner diameter of the tube", least=2, most=10),
    Input("max_diameter_fraction", "", "share of the inner diameter, 0.5 or 0.7", above=0, below=1),
    Input("sizes_fr", "Fr", "sizes on hand", kind="numbers", optional=True, assumed=_SIZES_FR, above=0, most=40),
    unit="Fr",
    formula="largest size with size/3 <= fraction x inner diameter",
    source="AARC guideline 2010 (below 50 % of the lumen); 1 Fr = 1/3 mm",
    evidence="C",
    cautions=(
        N_("Read as diameter, not area: the cautious reading."),
        N_("AARC 2022 allows below 70 %."),
        N_("In line, under 15 s."),
    ),
)
def suction_catheter_max_fr(*, ett_id_mm: float, max_diameter_fraction: float, sizes_fr: tuple[float, ...]) -> float:
    """Largest suction catheter for a tube."""
    fitting = [size for size in sizes_fr if size / 3 <= max_diameter_fraction * ett_id_mm + 1e-9]
    if not fitting:
        widest = plain(round(3 * max_diameter_fraction * ett_id_mm, 2))
        raise OutOfRange(f"sizes_fr: no size on hand fits; it must be at most {widest} Fr.")
    return max(fitting)


@calculation(
    Input("mmhg", "mmHg", least=-1000, most=1000),
    unit="cmH2O",
    formula="mmHg x 1.3595",
    source="1 mmHg = 1.3595 cmH2O",
    evidence="K",
    cautions=("Read on the gauge which unit it shows: the two differ by a third.",),
)
def mmhg_to_cmh2o(*, mmhg: float) -> float:
    """Pressure in cmH2O."""
    return mmhg * MMHG_IN_CMH2O


@calculation(
    WEIGHT_KG,
    unit="size",
    formula="maker's table by weight; two sizes at a boundary",
    source="Chang, Clinical Application of Mechanical Ventilation, Table 5-6",
    evidence="C",
    cautions=(N_("Weight ranges are not based on trials (Avidan et al. 2015)."),),
)
def lma_size(*, weight_kg: float) -> Graded[float | tuple[float, float]]:
    """Mask airway size."""
    sizes = [size for _, size in _MASK_SIZES] + [_LARGEST_MASK]
    for place, (most_kg, size) in enumerate(_MASK_SIZES):
        if weight_kg == most_kg:
            both = (float(size), float(sizes[place + 1]))
            return Graded(both, warnings=(N_("At the boundary of two sizes: have both."),))
        if weight_kg < most_kg:
            return Graded(float(size))
    return Graded(float(_LARGEST_MASK))


@calculation(
    Input("cmh2o", "cmH2O", "measured cuff pressure", least=0, most=150),
    unit="class",
    formula="low below 20, ok 20 to 30, high above 30",
    source="ATS/IDSA; Seegobin & van Hasselt 1984",
    evidence="M",
    cautions=(N_("Measured, not felt."), N_("Below 20 cmH2O a cuff leaks aerosol.")),
)
def cuff_pressure_band(*, cmh2o: float) -> Graded[str]:
    """Whether a cuff pressure is low, ok or high."""
    grade = "low" if cmh2o < 20 else "ok" if cmh2o <= 30 else "high"
    return Graded(grade, grade)
