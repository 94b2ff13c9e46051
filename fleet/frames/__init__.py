"""The only place where querysets become tables, and back.

`register` reads the rows of the register, `rows` writes them, `nouns` says which model keeps which file and
how a row names another; `plans` does both for the lines of a plan; `snapshots` reads all at one moment.
"""
