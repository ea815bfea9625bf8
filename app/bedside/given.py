"""Inputs that many calculations share, with the limits of a living patient.

The limits are engineering proposals, not published: wide enough for any adult or child on a ward, narrow enough that
a number typed into the wrong box is refused.
"""

from __future__ import annotations

from app.base.inputs import Input

SEX = Input("sex", kind="word", choices=("M", "F"), meaning="sex term of the published formula")
ADULT_HEIGHT_CM = Input("height_cm", "cm", "measured, not guessed", least=121, most=230)
HEIGHT_CM = Input("height_cm", "cm", "measured", least=40, most=230)
WEIGHT_KG = Input("weight_kg", "kg", "actual weight", least=2, most=350)
FIO2 = Input("fio2", "", "inspired oxygen as a fraction (40 % is 0.4)", least=0.21, most=1)
SPO2_PCT = Input("spo2_pct", "%", "pulse oximeter reading", above=0, most=100)
PEEP = Input("peep", "cmH2O", "positive end-expiratory pressure", least=0, most=30)
TOTAL_PEEP = Input("total_peep", "cmH2O", "measured, with auto-PEEP", least=0, most=30)
PLATEAU = Input("plateau", "cmH2O", "plateau pressure, 0.5 s pause, passive patient", least=5, most=60)
PPEAK = Input("ppeak", "cmH2O", "peak airway pressure", least=5, most=100)
VT_ML = Input("vt_ml", "mL", "tidal volume", least=50, most=1200)
VT_L = Input("vt_l", "L", "tidal volume", least=0.05, most=1.2)
RR = Input("rr", "breaths/min", "breathing rate", least=4, most=60)
DRUG = Input("drug", kind="text", meaning="name of the drug")
CONC_MG_ML = Input("conc_mg_ml", "mg/mL", "concentration on the ampoule or syringe", above=0, most=1000)
CONC_MCG_ML = Input("conc_mcg_ml", "micrograms/mL", "concentration of the infusion", above=0, most=100_000)
PB_MMHG = Input("pb_mmhg", "mmHg", "barometric pressure", least=350, most=820)
PACO2_MMHG = Input("paco2_mmhg", "mmHg", "arterial CO2 pressure", least=10, most=150)
FLOW_L_MIN = Input("flow_l_min", "L/min", "oxygen flow", above=0, most=200)
ACH = Input("ach", "1/h", "measured air changes of this room; unknown stays unknown", above=0, most=500)
EFFICIENCY_PERCENT = Input("efficiency_percent", "%", "share of what is airborne to remove", above=0, below=100)
LOSS_RATE_PER_H = Input("loss_rate_per_h", "1/h", "sum of all removal rates", above=0, most=500)
VOLUME_M3 = Input("volume_m3", "m3", "volume of the room", above=0, most=100_000)
