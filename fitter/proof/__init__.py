"""Step 6, draw: proofs, comparison sheets and template pictures.  Drawing decides nothing."""

from fitter.proof.compare import draw_comparison
from fitter.proof.frame import draw_proof
from fitter.proof.png import save_png
from fitter.proof.sheet import draw_template

__all__ = ["draw_comparison", "draw_proof", "draw_template", "save_png"]
