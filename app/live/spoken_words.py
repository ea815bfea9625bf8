"""Words that templates translate though they come from data: states, stages, places, procedures, kinds of screen.

They are named here so that every catalogue holds them; nothing else reads this list.
"""

from __future__ import annotations

from app.base.messages import N_

WORDS = (
    # states of a request
    N_("asked"), N_("acknowledged"), N_("handed in"), N_("received"), N_("cancelled"), N_("met by voice"),
    # procedures, precautions, how urgent
    N_("intubation"), N_("extubation"), N_("transport"), N_("tracheostomy"), N_("bronchoscopy"),
    N_("contact"), N_("droplet"), N_("airborne"), N_("enhanced"), N_("immediate"), N_("urgent"), N_("planned"),
    # where a person stands
    N_("named"), N_("donning"), N_("dressed"), N_("checked"), N_("inside"), N_("out"), N_("doffing"), N_("clean"),
    N_("outside"),
    # the life of a case, and its airway
    N_("planned"), N_("ready"), N_("airway"), N_("settled"), N_("leaving"), N_("closed"), N_("aborted"), N_("none"),
    N_("own breathing"), N_("oxygenating"), N_("apnoeic"), N_("attempt"), N_("unproven"), N_("proven"), N_("secured"),
    N_("rescue B"), N_("rescue C"), N_("rescue D"), N_("awake"),
    # places
    N_("store"), N_("door"), N_("room"), N_("soiled"), N_("quarantine"), N_("waste"), N_("decontamination"),
    # screens
    N_("board"), N_("desk"), N_("inside a room"), N_("outside a door"), N_("on a desk"),
    N_("on the wall, as the board"),
)  # fmt: skip
