"""Saliency measures against the properties their papers state."""

from __future__ import annotations

import numpy as np
import pytest

from fitter.seeing.saliency import blurred, resampled, sharpness, spectral_residual, spread, unlike_border
from tests.seeing.drawn import speckled


def bars(odd: tuple[int, int]) -> np.ndarray:
    """A slightly uneven grid of upright bars, one of them lying down: a pop-out pattern of psychophysics."""
    chance = np.random.default_rng(1)
    picture = np.full((64, 64), 40.0)
    for row in range(8):
        for column in range(8):
            y, x = row * 8 + 4 + chance.integers(-1, 2), column * 8 + 4 + chance.integers(-1, 2)
            if (row, column) == odd:
                picture[y - 1 : y + 1, x - 3 : x + 3] = 220
            else:
                picture[y - 3 : y + 3, x - 1 : x + 1] = 220
    return picture + chance.normal(0, 8, picture.shape)


@pytest.mark.parametrize("odd", [(1, 1), (2, 5), (6, 3)])
def test_the_odd_one_out_pops_out(odd: tuple[int, int]) -> None:
    """Hou and Zhang 2007, section on psychological patterns: what breaks the pattern is the most salient."""
    found = np.unravel_index(spectral_residual(bars(odd)).argmax(), (64, 64))
    assert abs(int(found[0]) - (odd[0] * 8 + 4)) <= 4
    assert abs(int(found[1]) - (odd[1] * 8 + 4)) <= 4


def test_contrast_and_brightness_do_not_change_the_residual() -> None:
    """A factor adds a constant to the log spectrum, which its local mean takes away (Hou and Zhang 2007, eq. 3)."""
    grey = speckled((48, 64))[..., 0].astype(float)
    assert spectral_residual(3.0 * grey) == pytest.approx(spectral_residual(grey), rel=1e-6)


def test_what_moves_takes_its_saliency_along() -> None:
    """The spectrum's amplitude does not know where things are; the phase brings them back to their place."""
    picture = speckled((64, 64))[..., 0].astype(float)
    one, other = spectral_residual(picture), spectral_residual(np.roll(picture, (16, 8), (0, 1)))
    inner = slice(28, 52)
    assert np.roll(one, (16, 8), (0, 1))[inner, inner] == pytest.approx(other[inner, inner], rel=1e-6)


def test_a_plain_picture_has_no_salient_place() -> None:
    """One colour everywhere: the residual is the same everywhere."""
    residual = spectral_residual(np.full((30, 64), 90.0))
    assert residual == pytest.approx(residual.mean())


def test_colours_of_the_border_are_not_rare() -> None:
    """A patch whose colour the border lacks stands out from a ground the border shows."""
    picture = np.full((60, 80, 3), (180, 120, 120), np.uint8)
    picture[20:40, 30:50] = (60, 90, 200)
    rare = unlike_border(picture)
    assert rare[30, 40] > 0.99
    assert rare[5, 5] < 0.5


def test_focus_is_sharper_than_blur() -> None:
    """The half in focus has more detail than the same half out of focus."""
    grey = speckled((40, 80))[..., 0].astype(float)
    grey[:, 40:] = blurred(grey, 2)[:, 40:]
    detail = sharpness(grey)
    assert detail[:, :36].mean() > 4 * detail[:, 44:].mean()


def test_means_over_cells_keep_the_mean() -> None:
    """Resampling counts every pixel once, in parts where a cell's edge cuts it."""
    values = np.arange(35.0).reshape(5, 7)
    coarse = resampled(values, (2, 3))
    assert coarse.mean() == pytest.approx(values.mean())
    assert coarse[0, 0] == pytest.approx(
        (values[:2, :2].sum() + values[:2, 2].sum() / 3 + values[2, :2].sum() / 2 + values[2, 2] / 6) / (2.5 * 7 / 3)
    )
    assert resampled(values, (5, 7)) == pytest.approx(values)


def test_smoothing_and_spreading_leave_a_plain_map_alone() -> None:
    """Constants stay constant up to the edge."""
    plain = np.full((9, 5), 3.0)
    assert blurred(plain, 4) == pytest.approx(plain)
    assert spread(plain, (20, 11)) == pytest.approx(np.full((20, 11), 3.0))
    assert spread(np.array([[0.0, 1.0]]), (1, 4)) == pytest.approx(np.array([[0.0, 0.25, 0.75, 1.0]]))
