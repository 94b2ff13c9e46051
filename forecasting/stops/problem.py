"""What is to be decided about stops: which assemblies could be changed in which stop, and at what cost."""

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

SLACK = 1e-6  # what rounding may take beyond a limit, in minutes or in the unit of a part


@dataclass(frozen=True, slots=True)
class Shared:
    """What machines share: spans of days in which changeouts may take so much and no more.

    A span limits the minutes of a site's labour, or the quantity of a part that is short there.

    row, stop, span, amount  (p,) an assembly changed in that stop takes so much of that span; by rising row
    group                    (S,) spans of one group limit the same thing in other days
    most                     (S,) what changeouts may take of each span
    more_on                  (S,) the day on which there is more of the same part; NaN where it is labour
    """

    row: np.ndarray
    stop: np.ndarray
    span: np.ndarray
    amount: np.ndarray
    group: np.ndarray
    most: np.ndarray
    more_on: np.ndarray

    @classmethod
    def nothing(cls) -> "Shared":
        none = np.empty(0, int)
        return cls(none, none, none, np.empty(0), none, np.empty(0), np.empty(0))

    def asked(self, stop: np.ndarray) -> np.ndarray:
        """What a choice (n,) of stops takes of each span."""
        taken = stop[self.row] == self.stop
        return np.bincount(self.span[taken], self.amount[taken], len(self.most))

    def exceeded(self, stop: np.ndarray) -> np.ndarray:
        """Which spans (S,) a choice takes more of than there is."""
        return self.asked(stop) > self.most + SLACK

    def of_spans(self, kept: np.ndarray) -> "Shared":
        """The same for the spans `kept` (S,) alone, numbered anew in their order."""
        inside = kept[self.span]
        return Shared(
            row=self.row[inside],
            stop=self.stop[inside],
            span=(kept.cumsum() - 1)[self.span[inside]],
            amount=self.amount[inside],
            group=self.group[kept],
            most=self.most[kept],
            more_on=self.more_on[kept],
        )

    def too_much(self) -> np.ndarray:
        """Which changeouts in which stop (p,) alone take more of a span than there is."""
        return self.amount > self.most[self.span] + SLACK

    def that_bind(self) -> "Shared":
        """The same without changeouts that take too much, and without spans that all others do not use up."""
        kept = ~self.too_much()
        row, span, amount = self.row[kept], self.span[kept], self.amount[kept]
        _, once = np.unique(row * max(len(self.most), 1) + span, return_index=True)
        everything = np.bincount(span[once], amount[once], len(self.most))
        fitting = replace(self, row=row, stop=self.stop[kept], span=span, amount=amount)
        return fitting.of_spans(everything > self.most + SLACK)

    def __add__(self, other: "Shared") -> "Shared":
        """Both together; the spans of `other` come last."""
        row = np.concatenate([self.row, other.row])
        order = np.argsort(row, kind="stable")
        spans, groups = len(self.most), self.group.max(initial=-1) + 1
        return Shared(
            row=row[order],
            stop=np.concatenate([self.stop, other.stop])[order],
            span=np.concatenate([self.span, other.span + spans])[order],
            amount=np.concatenate([self.amount, other.amount])[order],
            group=np.concatenate([self.group, other.group + groups]),
            most=np.concatenate([self.most, other.most]),
            more_on=np.concatenate([self.more_on, other.more_on]),
        )


@dataclass(frozen=True, slots=True)
class StopProblem:
    """What to decide for n assemblies on M machines with at most W stops each, in the order of time.

    The days of one window on which it may be used are stops beside one another: they share its set-up, which
    the first of them asks for, and its labour.

    machine      (n,) index of each assembly's machine, in rising order, each machine at least once
    cost         (n, W) cost of changing it in a stop, set-up aside; inf where it may not be
    outside      (n,) cost of no stop: of leaving it or, where it `must` go, of a special stop of its own
    must         (n,) bool
    minutes      (n,) labour
    setup        (M, W) cost of using a stop at all; inf where a machine has no such stop
    labour       (M, W) minutes that a stop allows; inf: any
    window       (M, W) the first stop of the window of each; its own where it is the only one
    shared       what stops of several machines share

    A choice is an (n,) array of stops, W for none.
    """

    machine: np.ndarray
    cost: np.ndarray
    outside: np.ndarray
    must: np.ndarray
    minutes: np.ndarray
    setup: np.ndarray
    labour: np.ndarray
    window: np.ndarray
    shared: Shared = field(default_factory=Shared.nothing)

    @property
    def width(self) -> int:
        return self.setup.shape[1]

    @property
    def if_in_none(self) -> np.ndarray:
        """What no stop costs each assembly (n,): inf where it must go and has a stop to go in."""
        return np.where(self.must & np.isfinite(self.cost).any(axis=1), np.inf, self.outside)

    def rows(self, machine: int) -> slice:
        """The assemblies of one machine."""
        return slice(*np.searchsorted(self.machine, [machine, machine + 1]))

    def of_machines(self, machines: np.ndarray) -> "StopProblem":
        """The same for some machines only, in rising order and numbered anew; spans keep their numbers."""
        edges = np.searchsorted(self.machine, [machines, machines + 1])
        rows, pairs = stretches(edges), stretches(np.searchsorted(self.shared.row, edges))
        shared = replace(
            self.shared,
            row=np.searchsorted(rows, self.shared.row[pairs]),
            stop=self.shared.stop[pairs],
            span=self.shared.span[pairs],
            amount=self.shared.amount[pairs],
        )
        return StopProblem(
            machine=np.searchsorted(machines, self.machine[rows]),
            cost=self.cost[rows],
            outside=self.outside[rows],
            must=self.must[rows],
            minutes=self.minutes[rows],
            setup=self.setup[machines],
            labour=self.labour[machines],
            window=self.window[machines],
            shared=shared,
        )

    def of_stops(self, stops: np.ndarray) -> "StopProblem":
        """The same of one machine that shares nothing, with some `stops` only, all days of their windows."""
        return replace(
            self,
            cost=self.cost[:, stops],
            setup=self.setup[:, stops],
            labour=self.labour[:, stops],
            window=np.searchsorted(stops, self.window[:, stops]),
        )

    def priced(self, price: np.ndarray) -> "StopProblem":
        """The same with the `price` (S,) of each span in the costs."""
        shared, cost = self.shared, self.cost.copy()
        np.add.at(cost, (shared.row, shared.stop), price[shared.span] * shared.amount)
        return replace(self, cost=cost)

    def opened(self) -> "StopProblem":
        """The same with a special stop open to what must go too: what is shared may shut out all others."""
        return replace(self, must=np.zeros_like(self.must))

    def hold(self, rows: np.ndarray, stop: np.ndarray, penalty: np.ndarray) -> "StopProblem":
        """The same with the assemblies `rows` (bool) held to their `stop`, any other end at a `penalty`."""
        elsewhere = self.window[self.machine] != self.windows_of(stop)[:, None]
        beyond = np.maximum(self.outside, self._in_stop(np.maximum(stop, 0)) + penalty)
        return replace(
            self,
            cost=np.where(rows[:, None] & elsewhere, np.inf, self.cost),
            outside=np.where(rows, beyond, self.outside),
            must=self.must | rows,
        )

    def windows_of(self, stop: np.ndarray) -> np.ndarray:
        """The first stop (n,) of the window that each is in under a choice; W for none."""
        inside = (stop >= 0) & (stop < self.width)
        return np.where(inside, self.window[self.machine, np.where(inside, stop, 0)], self.width)

    def used(self, stop: np.ndarray) -> np.ndarray:
        """Which stops (M, W) are of a window that has something to do under a choice."""
        return self._each_day(stop, np.ones(len(stop))) > 0

    def work(self, stop: np.ndarray) -> np.ndarray:
        """Minutes of work (M, W) in the window of each stop under a choice."""
        return self._each_day(stop, self.minutes)

    def machine_costs(self, stop: np.ndarray) -> np.ndarray:
        """What each machine (M,) costs under a choice, set-ups included."""
        own = np.where(stop < self.width, self._in_stop(stop), self.outside)
        setups = np.where(self.used(stop), self.setup, 0.0).sum(axis=1)
        return np.bincount(self.machine, own, len(self.setup)) + setups

    def _each_day(self, stop: np.ndarray, amount: np.ndarray) -> np.ndarray:
        """What the `amount` (n,) of a choice comes to in the window of each stop (M, W)."""
        inside, total = stop < self.width, np.zeros(self.setup.shape)
        np.add.at(total, (self.machine[inside], self.windows_of(stop)[inside]), amount[inside])
        return np.take_along_axis(total, self.window, axis=1)

    def _in_stop(self, stop: np.ndarray) -> np.ndarray:
        return self.cost[np.arange(len(stop)), np.minimum(stop, self.width - 1)]


def stretches(edges: np.ndarray) -> np.ndarray:
    """The whole numbers from each of `edges[0]` to before that of `edges[1]`, one stretch after the other."""
    began, length = edges[0], edges[1] - edges[0]
    before = length.cumsum() - length
    return np.arange(length.sum()) + np.repeat(began - before, length)


def draw_on_spans(takes: pd.DataFrame, spans: pd.DataFrame, day: np.ndarray) -> Shared:
    """What assemblies with stops on `day` (n, W; inf: no such stop) take of `spans`.

    `takes` says how much each `row` takes of which `group` before day `until`, in `amount`; `spans` how much
    there is of a `group` from `first_day` to before `end_day`, in `most`, and when there is more of it, in
    `more_on`.
    """
    row, stop = np.nonzero(np.isfinite(day))
    cells = pd.DataFrame({"row": row, "stop": stop, "day": day[row, stop]}).merge(takes, on="row")
    cells = cells[cells["day"] < cells["until"]]
    spans = spans.reset_index(drop=True).rename_axis("span").reset_index()
    days = cells[["group", "day"]].drop_duplicates().merge(spans, on="group")
    days = days[(days["first_day"] <= days["day"]) & (days["day"] < days["end_day"])]
    drawn = cells.merge(days[["group", "day", "span"]], on=["group", "day"])
    drawn = drawn.sort_values(["row", "stop", "span"], kind="stable")
    return Shared(
        row=drawn["row"].to_numpy(int),
        stop=drawn["stop"].to_numpy(int),
        span=drawn["span"].to_numpy(int),
        amount=drawn["amount"].to_numpy(float),
        group=pd.factorize(spans["group"])[0],
        most=spans["most"].to_numpy(float),
        more_on=spans["more_on"].to_numpy(float),
    )
