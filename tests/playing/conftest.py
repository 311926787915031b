"""Lips on a made-up bore and air column of which every mode is known."""

import numpy as np
import pytest

from borestudy.playing.lips import Lips
from borestudy.playing.modes import Modes
from borestudy.playing.tone import Oscillator


@pytest.fixture(scope="session")
def known_modes():
    """Twelve modes, each passive by itself: a low first one, the others near whole multiples."""
    frequencies = 117.0 * np.arange(1, 13)
    frequencies[0] *= 0.75
    damping = np.pi * frequencies / np.linspace(20, 40, 12)
    heights = 1e6 * np.array([20, 25, 30, 35, 40, 42, 40, 32, 22, 14, 9, 6])
    poles = -damping + 2j * np.pi * frequencies
    return Modes(poles, (heights * damping).astype(complex))


@pytest.fixture(scope="session")
def oscillator(known_modes):
    """Lips that sound the fourth mode, where nothing but the bore is behind them."""
    return Oscillator(Lips(), 420.0, known_modes, 0.0, 1.2)
