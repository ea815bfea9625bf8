"""Oxygen for transport: what a cylinder holds, what a device uses, and how long it lasts."""

from __future__ import annotations

from collections.abc import Mapping

from app.base.calculation import Graded, calculation
from app.base.checks import Missing, NotUnderstood
from app.base.inputs import Input
from app.base.messages import N_
from app.bedside.given import FIO2, FLOW_L_MIN
from app.bedside.real_oxygen import ATM_PA, density_mol_m3

US_FACTOR_L_PER_PSI: Mapping[str, float] = {"D": 0.16, "E": 0.28, "M": 1.56, "G": 2.41, "H": 3.14, "K": 3.14}
UK_CONTENT_L: Mapping[str, float] = {
    "D": 340, "CD": 460, "E": 680, "F": 1360, "G": 3400, "J": 6800, "HX": 2300, "ZD": 605, "ZX": 3040,
}  # fmt: skip
UK_WATER_L: Mapping[str, float] = {
    "D": 2.3, "CD": 2.0, "E": 4.7, "F": 9.4, "G": 23.6, "J": 47.2, "HX": 10, "ZD": 2, "ZX": 10,
}  # fmt: skip
_LETTERS = N_("The same letter means different cylinders in the US and the UK.")
_DOWN = N_("Shown rounded down; turn back at half of what is usable.")
_DEVICE = N_("Measured consumption of the device decides: transport ventilators differ several-fold.")
_GAUGE_BAR = Input("gauge_bar", "bar", "gauge pressure", least=0, most=350)


@calculation(
    Input("size", kind="word", choices=(*US_FACTOR_L_PER_PSI, "H/K"), meaning="US size letter"),
    Input("psi", "psi", "gauge pressure", least=0, most=5000),
    Input("residual_psi", "psi", "left in the cylinder, usually 200", least=0, most=2000),
    FLOW_L_MIN,
    unit="min",
    formula="(psi - residual_psi) x factor / flow; factors D 0.16, E 0.28, M 1.56, G 2.41, H and K 3.14 L/psi",
    source="Virginia Office of EMS guidance 2010 on 12VAC5-31-860",
    evidence="C",
    cautions=(_LETTERS, _DOWN),
)
def cylinder_minutes_us(*, size: str, psi: float, residual_psi: float, flow_l_min: float) -> Graded[float]:
    """Minutes that a US cylinder lasts."""
    usable = max(psi - residual_psi, 0)
    warnings = () if usable else (N_("At or below the residual: change now."),)
    return Graded(usable * US_FACTOR_L_PER_PSI[size[0]] / flow_l_min, warnings=warnings)


@calculation(
    Input("rated_l", "L", "content when full", above=0, most=20_000),
    Input("rated_psi", "psi", "gauge pressure when full", above=0, most=5000),
    Input("psi", "psi", "gauge pressure now", least=0, most=5000),
    FLOW_L_MIN,
    unit="min",
    formula="rated_l x psi / rated_psi / flow",
    source="Nagelhout & Zaglaniczky, Nurse Anesthesia, 2nd ed 2001, Table 14-1",
    evidence="C",
    cautions=(N_("Scaling the printed content reads up to 6 % too long near empty."), N_("No reserve is kept."), _DOWN),
)
def cylinder_minutes_ratio(*, rated_l: float, rated_psi: float, psi: float, flow_l_min: float) -> Graded[float]:
    """Minutes that a cylinder lasts, from its rated content and its gauge."""
    over = (N_("The gauge reads above the rated pressure: warm, just filled, or another cylinder."),) * (
        psi > rated_psi
    )
    return Graded(rated_l * psi / rated_psi / flow_l_min, warnings=over)


@calculation(
    Input("size", kind="word", choices=tuple(UK_CONTENT_L), meaning="UK size letter"),
    Input("rated_l", "L", "content when full", above=0, most=20_000),
    Input("rated_bar", "bar", "gauge pressure when full", above=0, most=350),
    FLOW_L_MIN,
    unit="min",
    formula="rated_l / flow",
    source="Lutman & Petros, Emerg Med J 2006;23:703 (D, CD, F); others from memory",
    evidence="C",
    cautions=(_LETTERS, N_("A full cylinder with no reserve kept."), _DOWN),
)
def cylinder_minutes_full_uk(*, size: str, rated_l: float, rated_bar: float, flow_l_min: float) -> Graded[float]:
    """Minutes that a full UK cylinder lasts."""
    differs = abs(rated_l - UK_CONTENT_L[size]) > 0.05 * UK_CONTENT_L[size]
    note = f"A UK size {size} is listed with {UK_CONTENT_L[size]:g} L: check the cylinder."
    return Graded(rated_l / flow_l_min, warnings=(note,) if differs else ())


@calculation(
    Input("cylinder", kind="text", optional=True, meaning="what it is called"),
    Input("water_l", "L", "water capacity stamped on the cylinder", above=0, most=100),
    _GAUGE_BAR,
    unit="L",
    formula="water_l x gauge_bar",
    source="Boyle's law",
    evidence="K",
    cautions=(
        N_("About 5 % below the real content: the safe side."),
        N_("A cylinder in the sun or just filled reads high."),
    ),
)
def cylinder_litres_ideal(*, cylinder: str | None, water_l: float, gauge_bar: float) -> float:
    """Litres of oxygen in a cylinder, from water capacity and gauge."""
    return water_l * gauge_bar


@calculation(
    _GAUGE_BAR,
    Input("temp_c", "degC", "temperature of the gas", least=-40, most=65),
    unit="L at 15 C, 1 atm",
    formula="density(gauge + 1 atm, temp) / density(1 atm, 15 degC)",
    source="Schmidt & Wagner, Fluid Phase Equilibria 1985;19:175",
    evidence="K",
    cautions=(N_("Total contents: the last litre at room pressure stays in the cylinder."),),
)
def o2_litres_per_litre_water_real(*, gauge_bar: float, temp_c: float) -> float:
    """Litres of oxygen in a litre of water capacity, as a real gas."""
    inside = density_mol_m3(gauge_bar * 1e5 + ATM_PA, temp_c + 273.15)
    return inside / density_mol_m3(ATM_PA, 288.15)


@calculation(
    Input("minutes", "min", "planned length of the journey", above=0, most=2880),
    Input(
        "flow_l_min", "L/min", "fixed oxygen flow; or give mv_l, fio2 and drive_l_min", optional=True, least=0, most=200
    ),
    Input("safety_factor", "", "2 doubles the need: the reserve", least=1, most=5),
    Input("mv_l", "L/min", "minute volume", optional=True, above=0, most=60),
    Input("fio2", "", "inspired oxygen as a fraction", optional=True, least=0.21, most=1),
    Input("drive_l_min", "L/min", "gas that drives the ventilator", optional=True, least=0, most=30),
    unit="L",
    formula="safety_factor x minutes x flow, or x (mv_l x fio2 + drive_l_min)",
    source="UK transfer-medicine teaching rule; compare FICM/ICS 2019",
    evidence="S",
    cautions=(_DEVICE, N_("Nasal high flow empties a small cylinder in minutes.")),
)
def transfer_oxygen_l(
    *,
    minutes: float,
    safety_factor: float,
    flow_l_min: float | None = None,
    mv_l: float | None = None,
    fio2: float | None = None,
    drive_l_min: float | None = None,
) -> float:
    """Oxygen to carry for a journey."""
    if flow_l_min is not None:
        if mv_l is not None or drive_l_min is not None:
            raise NotUnderstood(
                "Two ways were given.", do="Give flow_l_min, or mv_l with fio2 and drive_l_min, not both."
            )
        return safety_factor * minutes * flow_l_min
    ventilator = (
        ("mv_l", mv_l, "in L/min, above 0 and at most 60"),
        ("fio2", fio2, "as a fraction, from 0.21 to 1"),
        ("drive_l_min", drive_l_min, "in L/min, from 0 to 30"),
    )
    lacking = [(name, unit) for name, value, unit in ventilator if value is None]
    if mv_l is None or fio2 is None or drive_l_min is None:
        if len(lacking) == 3:
            raise Missing(
                "flow_l_min is missing.", do="Give it in L/min, from 0 to 200, or mv_l, fio2 and drive_l_min."
            )
        raise Missing(f"{lacking[0][0]} is missing.", do=f"Give it {lacking[0][1]}.")
    return safety_factor * minutes * (mv_l * fio2 + drive_l_min)


@calculation(
    Input("total_flow_l_min", "L/min", "flow of the mixed gas", least=0, most=100),
    FIO2,
    unit="L/min",
    formula="flow x (FiO2 - 0.21) / 0.79",
    source="air-oxygen mixing balance",
    evidence="K",
    cautions=(N_("At FiO2 1.0 it is the whole flow: 60 L/min empties a 460 L cylinder in under 8 min."),),
)
def hfno_o2_consumption_l_min(*, total_flow_l_min: float, fio2: float) -> float:
    """Cylinder oxygen used by nasal high flow."""
    return total_flow_l_min * (fio2 - 0.21) / 0.79


@calculation(
    Input("mv_l", "L/min", "minute volume", above=0, most=60),
    Input("bias_flow_l_min", "L/min", "continuous flow of the ventilator", least=0, most=60),
    FIO2,
    unit="L/min",
    formula="(MV + bias flow) x (FiO2 - 0.21) / 0.79",
    source="air-oxygen mixing balance with bias flow",
    evidence="K",
    cautions=(_DEVICE,),
)
def ventilator_o2_consumption_airmix_l_min(*, mv_l: float, bias_flow_l_min: float, fio2: float) -> float:
    """Cylinder oxygen used by a ventilator that mixes with air."""
    return (mv_l + bias_flow_l_min) * (fio2 - 0.21) / 0.79
