"""Starter pages left exactly as their reference layout obey the rules of place and cost nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.layout import Given, TemplateRef
from fitter.pages import Page
from fitter.reference import MEMBERS, reference_layout
from fitter.starters import starter_names
from fitter.template import TEXT_ROLES
from fitter.template_reader import read_template
from tests import builders as b

FREE = ("overlap", "shift", "resize", "alignment", "gap", "drop", "swap-role", "add-slot")


@pytest.mark.parametrize("size", [None, (127_000, 177_800)], ids=["own size", "5x7in"])
@pytest.mark.parametrize("name", starter_names())
def test_untouched_reference_is_sound(name: str, size: tuple[int, int] | None) -> None:
    """Turned, mirrored and refitted, what is left as drawn breaks none of R3, R6, R7 and changes nothing."""
    template = read_template(name)
    page = Page("page", size or template.size)
    for member in MEMBERS:
        made = reference_layout(template, page, member)
        layout = replace(
            b.tiny(),
            page=page,
            given=Given(photos=()),
            reference=made.elements,
            elements=tuple(b.place(e) for e in made.elements),
            transform=made.transform,
            template=TemplateRef(template.name, template.sha256, template.size),
        )
        report = check_layout(layout, template=template)
        assert report.differences == ()
        assert {name: report.costs.terms[name] for name in FREE} == dict.fromkeys(FREE, 0)
        # Only a page that holds the drawing smaller on its side pays for the room that leaves.
        smaller = made.upright > 1
        assert smaller == (member.quarter and template.size[0] != template.size[1])
        assert (report.costs.terms["hole"] > 0) == smaller
        assert [r.rule for r in report.rules if r.rule in ("R3", "R6", "R7") and r.violations] == []
        # Words keep their width when the page turns, and may have to find another place.
        stuck = {e.id for e in made.elements if e.role in TEXT_ROLES}
        edges = next(r.violations for r in report.rules if r.rule == "R1")
        assert {v.element for v in edges} <= (stuck if member.quarter else set())
