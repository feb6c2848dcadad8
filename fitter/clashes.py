"""Which demands clash, and which have to be taken back: smallest sets of both.

A clash is found by taking demands back for as long as the page stays *proved* impossible (a deletion filter: Chinneck
and Dravnieks 1991, from memory); many at once first, halves of them where that is too much.  What has to be taken back
is found the same way, by asking for demands again for as long as a page is found.  No demand can be taken from either
set then, but those of which the limits left it open.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fitter.demands import Case, Demand, demands, without
from fitter.trials import Trials, Verdict


@dataclass(frozen=True)
class Least:
    """A smallest set of demands; whether those in ``unsettled`` have to be in it is not known."""

    demands: tuple[Demand, ...]
    unsettled: tuple[Demand, ...] = ()


class Clashes:
    """What clashes in a case that is known to be impossible."""

    def __init__(self, case: Case, trials: Trials) -> None:
        self.case = case
        self.demands = demands(case)
        self._trials = trials
        self._known: dict[frozenset[int], Verdict] = {frozenset(): "impossible"}

    def verdict(self, given_up: Sequence[Demand]) -> Verdict:
        """Return whether there is a page without some demands."""
        key = frozenset(n for n, demand in enumerate(self.demands) if demand in given_up)
        if key not in self._known:
            self._known[key] = self._trials.verdict(without(self.case, [self.demands[n] for n in sorted(key)]))
        return self._known[key]

    def least_clash(self) -> Least:
        """Return demands that cannot be had together; none where it is impossible without any of them."""

        def still_clash(kept: Sequence[Demand]) -> bool | None:
            found = self.verdict([d for d in self.demands if d not in kept])
            return None if found == "unknown" else found == "impossible"

        return _least(self.demands, still_clash)

    def least_given_up(self) -> Least | None:
        """Return demands without which there is a page; ``None`` where none was found without all of them."""
        if self.verdict(self.demands) != "possible":
            return None

        def enough(given_up: Sequence[Demand]) -> bool | None:
            found = self.verdict(given_up)
            return None if found == "unknown" else found == "possible"

        return _least(self.demands, enough)


def _least(items: Sequence[Demand], holds: Callable[[Sequence[Demand]], bool | None]) -> Least:
    """Return a smallest part of some items for which something holds that holds for all of them."""
    kept = list(items)
    unsettled: list[Demand] = []

    def thin(group: Sequence[Demand]) -> None:
        rest = [item for item in kept if item not in group]
        found = holds(rest)
        if found:
            kept[:] = rest
        elif len(group) > 1:
            middle = (len(group) + 1) // 2
            thin(group[:middle])
            thin(group[middle:])
        elif found is None:
            unsettled.extend(group)

    thin(items)
    return Least(tuple(kept), tuple(unsettled))
