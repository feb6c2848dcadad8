"""Fixtures that several test modules share."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

from fitter.layout import Layout
from tests import builders as b

ROOT = Path(__file__).parent.parent

# A slow or busy machine must not fail a property, and a run must be repeatable.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


# Tests leave nothing in the home of whoever runs them; those of the cache name a folder of their own.
os.environ["FITTER_CACHE"] = "off"


@pytest.fixture(scope="session")
def demo_photos() -> Path:
    """Folder of the demo's photos."""
    return ROOT / "examples" / "photos"


@pytest.fixture
def page() -> Layout:
    """A tiny page that obeys every rule."""
    return b.tiny()
