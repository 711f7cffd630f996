"""Other people, out of those who speak: the same words with another pitch, melody, throat, breath and pace.

Seven voices are few, and to make them louder or faster makes them no one else. So each recording is
taken apart by the vocoder WORLD (PyPI `pyworld`, MIT) into its pitch, what the throat does to the sound
and breath, and put together again with other ones. The ranges are common practice, no source: throats of
adults differ in length by a quarter, voices in pitch by more than an octave.
"""

from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pyworld

from disturb import SPEECH_DB
from level import brought_to
from voices import RATE

WORKERS = 2
FRAME_MS = 5.0
LOWEST_HZ, HIGHEST_HZ = 70.0, 330.0


def warped(frames, times):
    """Each frame's spectrum, with all of it so many times as high."""
    bins = np.arange(frames.shape[1])
    at = np.minimum(bins / times, bins[-1])
    below = np.floor(at).astype(int)
    above, part = np.minimum(below + 1, bins[-1]), at - below
    return np.ascontiguousarray(frames[:, below] * (1 - part) + frames[:, above] * part)


def paced(random, count):
    """For each new frame, the old one that it is: faster and slower, as people are within a phrase."""
    pace = random.uniform(0.85, 1.2)
    knots = pace * np.exp(random.uniform(-0.25, 0.25, 2 + count // 40))
    speeds = np.interp(np.linspace(0, len(knots) - 1, 2 * count), np.arange(len(knots)), knots)
    at = np.cumsum(speeds)
    return np.clip(np.round(at[at < count]), 0, count - 1).astype(int)


def other(random, samples):
    """Samples from -1 to 1, said by somebody else at the same level."""
    sound = np.ascontiguousarray(samples, dtype=np.float64)
    rough, times = pyworld.dio(sound, RATE, frame_period=FRAME_MS)
    pitch = pyworld.stonemask(sound, rough, times, RATE)
    throat = pyworld.cheaptrick(sound, pitch, times, RATE)
    breath = pyworld.d4c(sound, pitch, times, RATE)
    frames = paced(random, len(pitch))
    pitch, throat, breath = pitch[frames], throat[frames], breath[frames]
    shorter = np.exp(random.uniform(np.log(0.84), np.log(1.2)))
    throat = np.exp(warped(np.log(np.maximum(throat, 1e-16)), shorter))
    breath = warped(breath, shorter)
    voiced = pitch > 0
    if voiced.any():
        middle = np.exp(np.mean(np.log(pitch[voiced])))
        # Who has a short throat mostly speaks higher, too.
        wanted = middle * shorter**2 * np.exp(random.uniform(-0.35, 0.35))
        wanted = np.clip(wanted, LOWEST_HZ, HIGHEST_HZ)
        melody = random.uniform(0.4, 1.7)
        shake = np.exp(0.01 * random.standard_normal(voiced.sum()))
        pitch[voiced] = wanted * (pitch[voiced] / middle) ** melody * shake
    if random.random() < 0.5:
        breath = breath ** random.uniform(0.4, 1.0)
    said = pyworld.synthesize(pitch, throat, np.clip(breath, 0, 1), RATE, frame_period=FRAME_MS)
    return brought_to(SPEECH_DB, said, RATE).astype(np.float32)


def one(job):
    seed, samples = job
    return other(np.random.Generator(np.random.PCG64(seed)), samples)


def by_others(recordings, seed):
    """Each recording by another person; pieces and words stay."""
    jobs = [([seed, number], recording["samples"]) for number, recording in enumerate(recordings)]
    with ProcessPoolExecutor(WORKERS) as workers:
        said = workers.map(one, jobs, chunksize=32)
        return [{**r, "samples": samples} for r, samples in zip(recordings, said, strict=True)]
