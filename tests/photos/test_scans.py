"""Progressive JPEGs without their last scans: smaller, whole, and hardly different; anything else is left alone."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from fitter.photos import open_seen
from fitter.photos.scans import without_fine_scans


def encoded(*, progressive: bool = True, mode: str = "RGB") -> bytes:
    """Return a picture of waves and grey grain as a JPEG."""
    rows, columns = np.mgrid[:300, :400]
    waves = [np.sin(rows / 9 + n) * np.cos(columns / (7 + n)) * 90 + 128 for n in range(3)]
    grain = np.random.default_rng(3).normal(0, 6, (300, 400, 1))
    picture = np.clip(np.stack(waves, -1) + grain, 0, 255).astype(np.uint8)
    stream = BytesIO()
    Image.fromarray(picture).convert(mode).save(stream, "JPEG", quality=92, progressive=progressive)
    return stream.getvalue()


@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
@pytest.mark.parametrize(("enough", "left"), [((200, 150), 0.75), ((100, 75), 0.4), ((50, 37), 0.4)])
def test_what_is_left_is_a_whole_jpeg_of_nearly_the_same_values(
    mode: str, enough: tuple[int, int], left: float
) -> None:
    """By another decoder's account (libjpeg, through Pillow): same size, no complaint, a few of 255 off."""
    data = encoded(mode=mode)
    part = without_fine_scans(data, max(enough))
    assert part is not None and len(part) < left * len(data)
    pictures = []
    for held in (data, part):
        with Image.open(BytesIO(held)) as image:
            image.draft(None, enough)
            image.load()
            pictures.append(np.asarray(image, float))
    assert pictures[0].shape == pictures[1].shape
    assert np.abs(pictures[0] - pictures[1]).mean() < 3
    assert without_fine_scans(part, max(enough)) is None


def test_just_above_a_quarter_all_frequencies_stay() -> None:
    """A picture 400 pixels wide, of which 101 are wanted."""
    data = encoded()
    fine, coarse = without_fine_scans(data, 101), without_fine_scans(data, 100)
    assert fine is not None and coarse is not None
    assert len(coarse) < len(fine)
    assert fine == without_fine_scans(data, 400)


def test_other_files_are_left_alone() -> None:
    """Baseline JPEGs, cut ones, several pictures in one file, and what is no JPEG."""
    data = encoded()
    assert without_fine_scans(encoded(progressive=False), 200) is None
    assert without_fine_scans(data[: len(data) // 2], 200) is None
    assert without_fine_scans(data[:-2], 200) is None
    several = b"\xff\xe2\x00\x08MPF\x00\x00\x00"
    assert without_fine_scans(data[:2] + several + data[2:], 200) is None
    for other in (b"", b"\xff\xd8", b"\xff\xd8\xff", b"\x89PNG", b"\xff\xd8\xff\xda\x00\x02\xff\xd9"):
        assert without_fine_scans(other, 200) is None


def test_a_marker_inside_a_segment_is_not_taken_for_a_scan() -> None:
    """A thumbnail in an Exif segment has scans and an end of its own."""
    data = encoded()
    inside = data[:1000] + b"\xff\xd9"
    holding = data[:2] + b"\xff\xe1" + (len(inside) + 2).to_bytes(2, "big") + inside + data[2:]
    part = without_fine_scans(holding, 200)
    assert part is not None
    alone = without_fine_scans(data, 200)
    assert alone is not None
    assert part == holding[: len(holding) - len(data) + 2] + alone[2:]


@given(st.binary(max_size=200))
def test_any_bytes_end_in_an_answer(rest: bytes) -> None:
    """Hostile files raise nothing here; the decoder has its say later."""
    data = encoded()
    for hostile in (b"\xff\xd8" + rest, data[:600] + rest + data[600:], data[:300] + rest):
        assert without_fine_scans(hostile, 200) is None or len(without_fine_scans(hostile, 200) or b"") <= len(hostile)


def test_only_a_rough_look_leaves_anything_out(tmp_path: Path) -> None:
    """Opened for drawing, every scan is decoded; a rough look is of the same size."""
    path = tmp_path / "waves.jpg"
    path.write_bytes(encoded())
    whole, rough = (np.asarray(open_seen(path, at_least=(200, 150), rough=rough), float) for rough in (False, True))
    assert whole.shape == rough.shape
    assert 0 < np.abs(whole - rough).mean() < 3
    plain = open_seen(path, at_least=(200, 150))
    assert (np.asarray(plain) == whole).all()
