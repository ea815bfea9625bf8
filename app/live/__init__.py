"""Cases as they are now, drawn as panels and pushed to every screen that shows them.

`cases` keeps records in memory and folds what the writer has stored. `views/` pick what a panel shows, `panels` lists
them, `drawing` makes HTML, `hub` pushes what has changed. `facts` says what the registers know when an entry arrives.
"""
