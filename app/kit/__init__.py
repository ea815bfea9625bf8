"""Kit: respirators and their stock, trays and trolleys with seal and contents, oxygen cylinders.

`tables` are the registers; `registers` describes them; `ready` says what is missing, past its date, or to be checked.
"""
