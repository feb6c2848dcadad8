"""Step 2, formulate: from template, page, photos and words to integer problems, one per symmetry class.

Enters: validated data.  Leaves: :class:`Formulation` objects, each a :class:`solver.problem.Problem` with what is
needed to read a solution back.  Refuses nothing: what cannot be is simply not among the columns.
"""

from __future__ import annotations

from fitter.formulate.formulation import Formulation, Formulations, Problems, formulate
from fitter.formulate.settings import Settings

__all__ = ["Formulation", "Formulations", "Problems", "Settings", "formulate"]
