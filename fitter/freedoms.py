"""Names of what the fitter may change; each can be switched off by name."""

from __future__ import annotations

FREEDOMS: tuple[str, ...] = (
    "rotate-page",
    "mirror-page",
    "rotate-slot",
    "assign",
    "swap-role",
    "add-slot",
    "repeat-cluster",
    "drop",
    "scale",
    "widen",
    "shift",
    "crop",
)

VARIED: tuple[str, ...] = ("rotation", "roles", "slots", "lead", "scale")
"""What alternatives can be asked to differ in, by the names the search uses."""

MOST_ALTERNATIVES = 12
"""So many pages can be asked for at once."""
