"""Why no page exists, in the user's words, and what would help.

Every sentence is solved for, not guessed: what is said to clash is proved to, and with what is said to help a page was
found.  What the limit of the trials left open is said to be open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from fitter.change_words import listed
from fitter.clashes import Clashes, Least
from fitter.demands import Case, Demand, asking, name_of
from fitter.formulate import Formulation, Settings
from fitter.formulate.columns import block_configs
from fitter.formulate.content import TextItem
from fitter.pages import LARGEST_PAGE
from fitter.trials import Trials
from fitter.typesetting import JOURNALING_SIZES, block_heights
from fitter.units import INCH, format_length

_SQUARE_INCH = INCH * INCH
_SHARES = (0.8, 0.5, 0.25)
Remedy = tuple[str, Case]
"""What a page is like that was found, and the case it was found for."""


def reasons(
    case: Case, formulations: Sequence[Formulation], stop: Callable[[], bool] = lambda: False
) -> tuple[str, ...]:
    """Return what clashes in a case that is proved to be impossible, and what helps; at least one sentence.

    Parameters
    ----------
    case
        What is asked for.
    formulations
        Of the case; none where the photos outnumber every place there is, so that it was not formulated.
    stop
        Asked now and then whether to stop.
    """
    trials = Trials(stop)
    clashes = Clashes(case, trials)
    clash = clashes.least_clash()
    words = list(_words_too_long(clash, case, formulations))
    # Whether each is enough comes first: what less of it would be enough may take all that is left.
    alone = [demand for demand in clash.demands if clashes.verdict([demand]) == "possible"]
    untried = [demand.remedy for demand in clash.demands if clashes.verdict([demand]) == "unknown"]
    alone.sort(key=lambda demand: demand.kind == "words")
    remedies = [remedy for demand in alone for remedy in _remedies(demand, case, trials, formulations)]
    told = words if words and len(clash.demands) == 1 else [*words, *_clash_told(clash, clashes)]
    if remedies:
        told.append(f"a page exists {listed([text for text, _ in remedies], 'or')}")
        if untried:
            told.append(f"whether one exists {listed(untried, 'or')} was not settled within the limits")
    else:
        told.append(_given_up_told(clashes, trials))
    if case.settings.wishes.bind and remedies:
        told += _nearest(remedies, trials)
    return tuple(told)


def _clash_told(clash: Least, clashes: Clashes) -> Iterator[str]:
    """Say what cannot be had, and of what it was not settled whether it belongs to that."""
    names = [demand.what for demand in clash.demands]
    if not names:
        yield "the template does not suit the page, whatever else is taken back of what was asked for"
    elif len(names) == len(clashes.demands) and len(clash.unsettled) == len(names):
        yield "what clashes was not found out within the limits"
    elif len(names) == 1:
        yield f"{names[0]} cannot be had"
    else:
        yield f"these cannot be had together: {'; '.join(names)}"
        if clash.unsettled:
            open_ones = listed([demand.what for demand in clash.unsettled])
            yield f"whether {open_ones} really matter for that was not settled within the limits"


def _given_up_told(clashes: Clashes, trials: Trials) -> str:
    """Say what has to be taken back together, where no single thing is enough."""
    least = clashes.least_given_up()
    if least is not None:
        told = f"a page exists {listed([demand.remedy for demand in least.demands])}"
        if least.unsettled:
            open_ones = listed([demand.remedy for demand in least.unsettled])
            told += f" (whether one {open_ones} is enough was not settled within the limits)"
        return told
    larger = _on_a_larger_page(clashes.case, trials)
    return f"a page exists {larger[0]}" if larger else "what would help was not found within the limits"


def _remedies(demand: Demand, case: Case, trials: Trials, formulations: Sequence[Formulation]) -> Iterator[Remedy]:
    """Return pages without a demand that is known to be enough, or with less of it."""
    if demand.kind == "photos":
        fewest = _fewest_left_out(case, demand, trials)
        yield f"with --leave-out {fewest}", asking(case, leave_out=fewest)
        return
    item = None if demand.kind != "words" else next(i for i in case.settings.items if i.index == demand.text)
    if item is not None and not item.is_title:
        shorter = _shortened(case, item, trials, formulations)
        if shorter is not None:
            yield shorter
            yield from _on_a_larger_page(case, trials)
            return
    yield demand.remedy, demand.relax(case)


def _fewest_left_out(case: Case, demand: Demand, trials: Trials) -> int:
    """Return how many photos to leave out for a page that was found."""
    low, high = case.settings.leave_out + 1, demand.relax(case).settings.leave_out
    middle = low
    while low < high:
        if trials.possible(asking(case, leave_out=middle)):
            high = middle
        else:
            low = middle + 1
        middle = (low + high) // 2
    return high


def _on_a_larger_page(case: Case, trials: Trials) -> list[Remedy]:
    """Return a page half as large again, if there is one."""
    trim = case.page.trim[0] * 3 // 2, case.page.trim[1] * 3 // 2
    if max(trim) > LARGEST_PAGE or case.settings.wishes.start is not None:
        return []
    larger = replace(case, page=replace(case.page, trim=trim))
    name = f"{format_length(trim[0])} × {format_length(trim[1])}"
    return [(f"on a larger page ({name})", larger)] if trials.possible(larger) else []


def _words_too_long(clash: Least, case: Case, formulations: Sequence[Formulation]) -> Iterator[str]:
    """Say that there is no spot for words that have a part in a clash, with figures where these explain it."""
    settings = case.settings
    if not formulations:
        return
    blamed = {demand.text for demand in clash.demands if demand.kind == "words"}
    for ids in settings.needs:
        item = settings.items[ids[0]]
        if item.index not in blamed or _has_a_spot(item.which, formulations):
            continue
        if item.is_title:
            yield f"the title {item.text[:40]!r} fits no spot of the template at 24 pt"
            continue
        need = _area_needed(item.text)
        largest = max((a.element.size[0] * a.element.size[1] for f in formulations for a in f.scene.blocks), default=0)
        if need > largest:
            yield (
                f"{len(item.text.split()):,} words need about {need / _SQUARE_INCH:.0f} sq in at 8 pt and no spot of "
                f"the template (the largest has {largest / _SQUARE_INCH:.0f} sq in) takes them"
            )


def _has_a_spot(which: str, formulations: Sequence[Formulation]) -> bool:
    """Whether a text, or a part of it where it flows over several spots, has a spot by itself."""
    return any(
        f.settings.items[text].which == which
        for f in formulations
        for block in f.problem.blocks
        for column in block.columns
        for text in column.texts
        if text < len(f.settings.items)
    )


def _area_needed(text: str) -> int:
    """Return the smallest area of a card for a text at the smallest size, of a comfortable measure."""
    widths = [INCH * w for w in (2, 3, 4, 5, 6, 8)]
    table = block_heights(text, widths, JOURNALING_SIZES[:1])
    areas = [(w + INCH // 4) * (int(h) + INCH // 4) for w, h in zip(widths, table.ink_height[0], strict=True) if h > 0]
    return min(areas, default=0)


def _shortened(case: Case, item: TextItem, trials: Trials, formulations: Sequence[Formulation]) -> Remedy | None:
    """Return a page with fewer of the words, whole in one spot, if one was found."""
    settings = case.settings
    words = item.text.split()
    low, high = 0, len(words)
    while low < high:
        middle = (low + high + 1) // 2
        if _takes(settings, formulations, replace(item, index=0, text=" ".join(words[:middle]))):
            low = middle
        else:
            high = middle - 1
    shares = (1.0, *_SHARES) if low < len(words) else _SHARES
    for share in shares:
        count = int(low * share)
        count = count - count % 10 if count > 20 else count
        items = tuple(replace(i, text=" ".join(words[:count])) if i == item else i for i in settings.items)
        needs = tuple((item.index,) if item.index in ids else ids for ids in settings.needs)
        shorter = asking(case, items=items, needs=needs)
        if count and trials.possible(shorter):
            return f"with {name_of(settings, item)} shortened to about {count:,}", shorter
    return None


def _takes(settings: Settings, formulations: Sequence[Formulation], item: TextItem) -> bool:
    trial = replace(settings, photos=(), items=(item,), needs=((0,),))
    return any(
        config.item == 0 or any(carried.item == 0 for carried in config.carried)
        for f in formulations
        for atom in f.scene.blocks
        for config in block_configs(f.scene, atom, trial, f.scalings)
    )


def _nearest(remedies: Sequence[Remedy], trials: Trials) -> Iterator[str]:
    """Say which of some pages costs least, as far as the limit allows to know."""
    found: list[tuple[int, int, bool]] = []
    for number, (_, case) in enumerate(remedies):
        outcome = trials.best(case, trials.left / (len(remedies) - number))
        if outcome is not None and outcome.pages:
            found.append((outcome.pages[0].solution.cost, number, outcome.pages[0].proved))
    if found:
        cost, number, proved = min(found)
        known = "the best" if proved else "one"
        yield f"the nearest page: {remedies[number][0]}; {known} then costs {cost / 1e6:.3f}"
