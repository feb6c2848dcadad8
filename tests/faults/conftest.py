"""The page that faults are planted in."""

from __future__ import annotations

import pytest

from fitter.layout import Layout
from tests import builders as b


@pytest.fixture
def page() -> Layout:
    """A page that obeys every rule."""
    return b.tiny()
