"""What a department's people write into files for its registers: in order for some rules, out of order for others."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from app.base.time import utc_now

NOW = utc_now()


def day(days: int) -> str:
    return f"{NOW + timedelta(days=days):%Y-%m-%d}"


def moment(**by: float) -> str:
    return f"{NOW + timedelta(**by):%Y-%m-%d %H:%M}"


LATELY, LONG_AGO = day(-30), day(-400)
"""Within the year for which a fit test and a drill count, and past it."""
BOOKS: Mapping[str, tuple[str, ...]] = {
    "respirators": ("model", "K2", "M1"),
    "organisms": (
        "name,precaution,entry,immunity,source",
        "Measles,airborne,immune,measles,MEA18 [V]",
        "Viral haemorrhagic fever,enhanced,trained,,CDCVHF [V]",
    ),
    "people": (
        "id,name,initials,job,resp,hood,drill,no_entry",
        f"bea,Bea Lund,BL,consultant,tight:K2,no,{LATELY},no",
        f"cy,Cy Ott,CO,nurse,hood,yes,{LONG_AGO},no",
        f"dan,Dan Reed,DR,nurse,hood,yes,{LATELY},no",
        f"eva,Eva Noor,EN,consultant,hood,yes,{LATELY},yes",
        f"finn,Finn Holt,FH,consultant,tight:K2,no,{LATELY},no",
        *(f"{name.lower()},{name} Vale,{name[:2]},nurse,hood,yes,{LATELY},no" for name in ("Gil", "Hana", "Ivo", "Jon")),
        f"tess,Tess Ward,TW,consultant,hood,yes,{LATELY},no",
    ),
    "fit-tests": (
        "person_id,respirator_id,tested_on,method,result",
        f"bea,M1,{LATELY},bitter aerosol,pass",
        f"finn,K2,{LATELY},bitter aerosol,pass",
    ),
    "immunity": (
        "person_id,condition,state",
        "dan,measles,no",
        *(f"{p},measles,yes" for p in ("bea", "eva", "finn", "gil", "hana", "ivo", "jon", "tess", "cy")),
    ),
    "rooms": (
        "id,name,ach,ach_on,meant,reference,limit_pa",
        *(f"r{n},Room {n},12,{LATELY},negative,corridor,-2.5" for n in (1, 2, 3, 4)),
    ),
    "room-checks": (
        "room_id,checked_at,pressure_pa,reference,checked_by",
        f"r1,{moment(hours=-1)},3,corridor,Gil",
        f"r2,{moment(hours=-1)},-8,corridor,Gil",
    ),
    "kit-templates": ("name,tray", "Clean tray,clean", "Door tray,door"),
    "kit-items": (
        "template_id,code,name,mandatory",
        *(f"Clean tray,{code},{code},yes" for code in ("suction", "oxygen", "tube")),
        *(f"Door tray,{code},{code},yes" for code in ("fona", "reintub")),
    ),
    "kits": (
        "name,template_id,place,seal",
        "Trolley A,Clean tray,Store,1", "Trolley B,Clean tray,Store,2", "Door box,Door tray,Door shelf,3",
    ),
    "kit-contents": (
        "kit_id,code,expires_on",
        f"Trolley A,suction,{day(90)}", f"Trolley A,tube,{day(90)}",
        f"Trolley B,suction,{day(90)}", f"Trolley B,tube,{day(-2)}",
        f"Door box,fona,{day(90)}", f"Door box,reintub,{day(90)}",
    ),
    "cylinders": (
        "label,scheme,size,gauge_bar,full_bar,read_at,expires_on,kit_id",
        f"O2-1,UK,CD,210,230,{moment(hours=-1)},{day(90)},Trolley A",
        f"O2-2,UK,CD,60,230,{moment(hours=-1)},{day(90)},Trolley B",
    ),
    "shifts": ("name,starts_at,ends_at,people", f"Late,{moment(hours=-6)},{moment(minutes=40)},bea; cy; dan; eva; finn; gil; hana; ivo; jon; tess"),
}  # fmt: skip
