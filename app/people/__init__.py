"""People: members of staff, what they may do, which respirators fit them, and whether they may enter.

`tables` is the register. Health facts stay here: other rooms of the house learn only whether somebody may enter.
"""
