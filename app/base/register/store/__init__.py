"""All SQL of registers, a file a topic: `reading` finds rows, `history` keeps what became of them, `changing` writes
both in one transaction, `taking_back` undoes a change, `files` keeps what went in and out.
"""
