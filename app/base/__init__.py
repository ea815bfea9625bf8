"""The ground floor: what every other room may use and that knows none of them.

Settings, the database engine, ids, times, errors with words a person can act on, the log, and where files lie.
`moments` and `checks` are pure (arithmetic on what they are given); `time` and `ids` ask the machine.
"""
