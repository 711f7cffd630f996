"""The active speech level of ITU-T P.56, method B: the level of speech without its pauses.

Constants from memory: envelope of 0.03 s, hangover of 0.2 s, margin of 15.9 dB.
"""

import numpy as np

ENVELOPE_S, HANGOVER_S, MARGIN_DB = 0.03, 0.2, 15.9


def active_level_db(samples, rate):
    """In dB below full scale. The threshold is found between steps of 6 dB by straight lines."""
    envelope = twice_smoothed(np.abs(samples), np.exp(-1 / (ENVELOPE_S * rate)))
    energy = np.sum(np.square(samples))
    if energy <= 0:
        raise ValueError("silence has no active level")
    before = None
    for step in range(1, 16):
        threshold_db = -6.02 * step
        active = np.count_nonzero(hung_over(envelope >= 10 ** (threshold_db / 20), rate))
        if active == 0:
            continue
        level_db = 10 * np.log10(energy / active)
        above = level_db - threshold_db - MARGIN_DB
        if above >= 0:
            if before is None:
                return level_db
            level_before, above_before = before
            share = above_before / (above_before - above)
            return level_before + share * (level_db - level_before)
        before = level_db, above
    return level_db


def twice_smoothed(samples, pole):
    """Two exponential averages in a row: their common impulse response is (1-g)^2 (n+1) g^n."""
    length = int(np.ceil(np.log(1e-9) / np.log(pole)))
    n = np.arange(length)
    response = (1 - pole) ** 2 * (n + 1) * pole**n
    size = len(samples) + length
    spectrum = np.fft.rfft(samples, size) * np.fft.rfft(response, size)
    return np.fft.irfft(spectrum, size)[: len(samples)]


def hung_over(active, rate):
    """Activity that lasts another 0.2 s after each active sample."""
    at = np.arange(len(active))
    last = np.maximum.accumulate(np.where(active, at, -len(active) - rate))
    return at - last <= HANGOVER_S * rate


def gain(db):
    return 10 ** (db / 20)


def brought_to(level_db, samples, rate):
    """The same, at that active level."""
    return samples * gain(level_db - active_level_db(samples, rate))
