"""What tests of damaged and hostile photos share."""

import pytest
from PIL import Image

from fitter.errors import InputError


def refused(call, *arguments):
    """Return the one line with which a call refuses its arguments."""
    with pytest.raises(InputError) as caught:
        call(*arguments)
    message = caught.value.message
    assert "\n" not in message and len(message) < 400
    return message


def noise(size=(320, 240)):
    """Return a picture that does not compress away."""
    return Image.effect_noise(size, 90).convert("RGB")
