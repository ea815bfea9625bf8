"""The journal: everything that happens in a case is an entry, and entries are only ever added.

`entry` and `chain` are pure: what an entry is, and how each is tied to the one before by a hash. `writer` is the one
thread that stores: it gathers what waits, appends it in one transaction (`append`), syncs, and only then answers.
`store` reads. `keys` holds the server's signing key, with which the newest entry of each case is signed, so that
`verify` also sees when the newest was removed. `backup` copies a running database and puts it back. `clock` reckons the
difference between a station's clock and the server's.

What is promised: an acknowledged entry is on disk; sent twice it is stored once; changed, dropped or moved it is found.
What is not: whoever holds the server's key can write a new history, and whoever kept an old copy of the whole database
can put that back; only a backup elsewhere shows it.
"""
