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
    # steps that a pair checks, what a partner says, how sure something is
    N_("don"), N_("doff"), N_("keep"), N_("change"), N_("wrong"), N_("logged"),
    # what a reader must know of an entry, and how a notice ended
    N_("time corrected"), N_("value corrected"), N_("a correction did not fit and was left out"),
    N_("clock never synchronised: time of arrival"), N_("clock synchronised later: time reckoned back"),
    N_("clock ahead of the server: time of arrival"), N_("of a kind that this version does not know"),
    N_("before the case was opened"), N_("after the case was closed"), N_("after the record was signed"),
    N_("resolved"), N_("corrected"), N_("stood"),
    # why an entry is put right
    N_("undone at once"), N_("back-dated"), N_("put right in the room"),
    # screens
    N_("board"), N_("desk"), N_("inside a room"), N_("outside a door"), N_("on a desk"),
    N_("on the wall, as the board"),
)  # fmt: skip
