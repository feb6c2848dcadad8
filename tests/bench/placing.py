"""From an instance to problems, and from a solution to the written page and its judgement: alike for all who solve."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fitter.changes import changes
from fitter.check import Report, check_layout
from fitter.formulate import Formulation, Formulations, Settings, formulate
from fitter.formulate.account import terms_of
from fitter.formulate.content import TextItem
from fitter.layout import Costs, Given, Layout, Search, TemplateRef
from fitter.layout_file import layout_from_json, layout_text
from fitter.painting import paint
from fitter.palette import choose_palette
from fitter.place import place
from fitter.template import Template
from solver.progress import gap_of
from solver.solution import Solution
from tests.bench.instances import Instance


@dataclass(frozen=True)
class Judged:
    """A written page as the checker finds it."""

    layout: Layout
    report: Report

    @property
    def cost(self) -> int:
        """Total cost as recomputed."""
        return self.report.costs.total

    @property
    def rounding(self) -> int:
        """By how much costs may differ when each contribution is rounded by itself."""
        return sum(len(items) for items in self.report.details.values())

    @property
    def broken(self) -> list[tuple[str, int]]:
        """The rules broken, each with how many violations."""
        return [(rule.rule, len(rule.violations)) for rule in self.report.rules if rule.status == "broken"]

    @property
    def crop_loss(self) -> float | None:
        """Mean share lost per photo placed."""
        losses = [item.amount / 1e6 for item in self.report.details["crop-loss"]]
        return sum(losses) / len(losses) if losses else None

    @property
    def term_differences(self) -> dict[str, int]:
        """Stated less recomputed, for every cost term that is not equal to the unit."""
        stated, found = self.layout.costs.terms, self.report.costs.terms
        names = dict.fromkeys((*found, *stated))
        return {n: d for n in names if (d := stated.get(n, 0) - found.get(n, 0))}


def judged(layout: Layout, template: Template) -> Judged:
    """Return a page as it reads from its file, and what the checker says of it."""
    written = layout_from_json(json.loads(layout_text(layout)))
    return Judged(written, check_layout(written, template=template))


def formulated(instance: Instance) -> Formulations:
    """Return the formulations of an instance, none made yet."""
    return formulate(instance.template, instance.page, settings_of(instance.given))


def settings_of(given: Given) -> Settings:
    """Return what was given for formulating; no drawing here has more than one card, so words never flow."""
    items = [TextItem(n, text.text, f"text-{n + 1}") for n, text in enumerate(given.texts)]
    if given.title is not None:
        items.append(TextItem(len(items), given.title, "title"))
    needs = tuple((item.index,) for item in items)
    return Settings(given.photos, tuple(items), needs, without=frozenset(given.without))


def layout_of(
    instance: Instance, formulations: Sequence[Formulation], solution: Solution, bound: int, seed: int
) -> Layout:
    """Return the page a solution stands for, with its costs as step 2 accounts for them."""
    template, formulation = instance.template, formulations[solution.problem]
    given = instance.given
    placed = place(template, formulation, solution)
    terms = terms_of(formulation, solution)
    total = formulation.settings.rates.total(terms)
    proved = bound >= solution.cost
    layout = Layout(
        page=instance.page,
        given=given,
        template=TemplateRef(template.name, template.sha256, template.size, Path(template.file or "").name),
        transform=replace(placed.reference.transform, rescale=placed.rescale),
        reference=placed.reference.elements,
        elements=paint(placed.elements, choose_palette(()), seed),
        dropped=placed.dropped,
        waived=placed.waived,
        left_out=tuple(given.photos[n].file for n in placed.left_out),
        changes=(),
        notes=template.notes,
        costs=Costs(total, terms, {}),
        search=Search(
            "proved" if proved else "feasible",
            total if proved else min(bound, total),
            0.0 if proved else round(gap_of(total, min(bound, total)), 6),
            seed,
            {},
            {},
        ),
    )
    return replace(layout, changes=changes(layout))
