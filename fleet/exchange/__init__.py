"""Fleet folders and the files of a plan: files, not the database.

In: `sources` gives the rows of a folder, zip or workbook, `reading` keeps them as texts, `cells` makes values
of them in stored units, `merging` lays them over the register as it stands and `rules` asks what must hold
then. What is wrong goes into `findings`. Out: `writing` for the register, `results` for a plan. `schema`
declares every file and column once. `inventing` makes a fleet up.
"""
