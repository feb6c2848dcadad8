"""Fixtures that several test modules share."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def demo_photos() -> Path:
    """Folder of the demo's photos."""
    return ROOT / "examples" / "photos"
