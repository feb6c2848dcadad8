"""What the checker's tests share."""

from __future__ import annotations

import pytest

from fitter.layout import Layout
from tests.builders import tiny


@pytest.fixture
def page() -> Layout:
    """Return a tiny page that keeps every rule."""
    return tiny()
