"""Streams of random numbers of a calibration: each part of it has its own."""

from typing import Final

import numpy as np

from explorer import sampling
from explorer.sampling import Purpose

#: The sample, the target's scatter, errors that are drawn, without the model's own, what is left out, and replicas.
SAMPLE: Final[int] = 0
AIM: Final[int] = 1
ERRORS: Final[int] = 10
WITHOUT: Final[int] = 20
LEFT_OUT: Final[int] = 1_000
REPLICAS: Final[int] = 2_000


def stream(number: int, place: int) -> np.random.Generator:
    """Return the generator of one of the streams."""
    return sampling.generator(number, Purpose.CALIBRATION, chunk=place)
