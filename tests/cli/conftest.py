"""What the command line's tests share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from fitter.photos import Photo
from tests.cli.desk import TEMPLATE, CannedResult, Desk


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    """A desk in a folder of its own, the checker answering that all is well."""
    Image.new("RGB", (800, 400), "#3a6ea5").save(tmp_path / "photo.jpg")
    (tmp_path / "little.svg").write_text(TEMPLATE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    made = Desk(tmp_path)

    def fit_page(template: Any, photos: Sequence[Photo], **options: Any) -> CannedResult:
        made.calls.append({"template": template, "photos": photos, **options})
        return made.fit(template, photos, **options)

    monkeypatch.setattr("fitter.api.fit_page", fit_page)
    monkeypatch.setattr("fitter.check.check_layout", lambda layout, *, base, template: type("Fine", (), {"ok": True})())
    yield made
