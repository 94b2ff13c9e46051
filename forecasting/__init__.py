"""The computing of the service: tables in, a plan out.

The chain, each link a package: meter readings give machine hours (`hours`), designs and positions give the
pressure margin (`designs`), installations give lives on two clocks and one fitted law (`life`), the law gives
each installed assembly's chance of failing and the failures ahead (`ahead`), those give changeouts into stops
(`stops`) and kits, cuts and stock (`supply`). `suitability` judges what may stand in, and `hindsight` scores
what was said on past days. `inputs` and `outputs` are the tables at the border, `pipeline.make_plan` is
the order of the calls.

Nothing in here knows Django, the clock, files or chance: `as_of` and `rng` are arguments.
"""
