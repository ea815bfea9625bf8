"""A faultless case raises nothing, whichever procedure it is."""

from __future__ import annotations

import pytest

TRACHEOSTOMY = """
02:10 | DOC | monitor.on | capno=waveform
03:00 | DOC | vitals | spo2=97; sbp=120
04:00 | DOC | tr.trial | from=97; to=94; secs=60
05:00 | DOC | tr.incise | p=P1
07:00 | DOC | tr.ett | step=cuff below the site
08:00 | DOC | vent.hold | why=opening
08:05 | DOC | tr.open | how=dilator
08:40 | DOC | tr.tube_in | size=8.0
08:45 | DOC | cuff.up | cuff=25; site=trachy
08:50 | DOC | vent.first | site=trachy
09:10 | DOC | co2.yes | breaths=7; site=trachy
09:20 | DOC | vitals | spo2=93; sbp=118
09:40 | DOC | tube.out | what=oral
10:00 | DOC | tube.secured | site=trachy
12:00 | DOC | agp.end | last=suction
13:00 | DOC | count.done | expected=11; found=11
"""
BRONCHOSCOPY = """
02:10 | DOC | monitor.on | capno=waveform
03:00 | DOC | cuff.check | cuff=25
04:00 | DOC | br.in | scope=single-use
05:00 | DOC | vitals | spo2=91; sbp=110
09:00 | DOC | br.out | samples=2
10:00 | DOC | agp.end | last=bronchoscopy
11:00 | DOC | count.done | expected=4; found=4
"""
TRANSPORT = """
02:10 | DOC | monitor.on | capno=waveform
03:00 | DOC | vitals | spo2=96; sbp=110
04:00 | DOC | o2.check | litres=500; flow=felt
04:30 | DOC | cuff.check | cuff=26
05:00 | DOC | vent.hold | why=changeover
05:02 | DOC | clamp.on | kind=metal
05:03 | DOC | circuit.off | to=transport ventilator
05:12 | DOC | circuit.on | to=transport ventilator
05:14 | DOC | clamp.off
05:16 | DOC | vent.resume | on=transport ventilator
05:40 | DOC | co2.yes | breaths=7
06:00 | CA | route.clear | lift=held
07:00 | DOC | tx.depart | filter=yes; sealed=yes
07:10 | DOC | room.out | p=P1,P2,P3,P4; tx=yes
12:00 | DOC | o2.check | litres=420; flow=10; togo=12
15:00 | DOC | vitals | spo2=95; sbp=105
24:00 | DOC | tx.arrive | at=ICU
26:00 | DOC | tx.accept | by=ICU
28:00 | OR | doff.done | p=P1; checker=P5; start=27:00
30:00 | OR | doff.done | p=P2; checker=P5; start=29:00
32:00 | OR | doff.done | p=P3; checker=P5; start=31:00
34:00 | OR | doff.done | p=P4; checker=P5; start=33:00
"""
CHILD = """
01:55 | TL | weight.set | kg=20; how=scales
02:10 | DOC | monitor.on | capno=waveform
02:20 | DOC | room.in | p=X1; kind=visitor; who=parent
02:30 | DOC | preox.start | device=mask
02:40 | DOC | vitals | spo2=97; sbp=95
05:40 | DOC | drug.given | class=induction
05:50 | DOC | room.out | p=X1
06:40 | DOC | scope.start | n=1
07:10 | DOC | tube.passed | size=5.0; depth=15
07:12 | DOC | scope.end | n=1; result=tube
07:20 | DOC | cuff.up | cuff=18
07:30 | DOC | vent.first | via=ventilator
07:55 | DOC | co2.yes | breaths=7
08:10 | DOC | vitals | spo2=96; sbp=84
09:00 | DOC | tube.secured | depth=15
12:00 | DOC | agp.end | last=suction
"""
ENDED = """
40:00 | TL | debrief.done | actions=1
41:00 | CA | case.close | ref=A
300:00 | CA | note | text=much later
"""


@pytest.mark.parametrize(
    ("lines", "extra"),
    [
        (TRACHEOSTOMY, "procedure=tracheostomy"),
        (BRONCHOSCOPY, "procedure=bronchoscopy"),
        (TRANSPORT, "procedure=transport; tx_min=20; o2_lpm=10"),
        (CHILD, "age=6"),
    ],
)
def test_a_faultless_case_is_silent(judge_case, lines, extra):
    assert judge_case(lines + ENDED, start="inside", extra=extra).live == []


def test_a_faultless_night_across_midnight_and_the_change_of_clocks_is_silent(judge_case):
    # 25 October 2026, Vienna: clocks go back at 03:00; the case runs from 02:40 summer time, its shift ends at 08:00
    judged = judge_case(
        CHILD + ENDED, start="inside", extra="age=6; date=2026-10-25; t0=02:40; tz=Europe/Vienna; shift_end=08:00"
    )
    assert judged.live == []
