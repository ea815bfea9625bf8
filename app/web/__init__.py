"""The web: which addresses exist, who may call them, and how a request becomes a page or a stored list of taps.

`routes` is the table of contents with each route's permission. A handler parses, asks or appends, and answers.
"""
