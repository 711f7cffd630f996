"""What happens to speech on its way: noise, rooms, headsets, other rates and levels.

None of it is the noise on which hearing is measured (`scripts/corpus/noise.py`): each piece is drawn
anew from kinds that are wider. All values are common practice, no source.
"""

import numpy as np

from level import gain
from noise import RATE, filtered, rms, shaped, tone

SPEECH_DB = -26.0
# The share of each kind of noise, and of pieces with a second one below the first.
KINDS = {"colored": 0.3, "hum": 0.2, "blows": 0.2, "people": 0.3}
SECOND = 0.35


def swell(random, count):
    return 1 + random.uniform(0, 0.5) * tone(random, count, 10 ** random.uniform(-1, 0.9))


def between(hz, low, high, order):
    return 1 / np.sqrt((1 + (low / np.maximum(hz, 1)) ** 6) * (1 + (hz / high) ** order))


def colored(random, count, _talk):
    slope = random.uniform(-1, 2.2)
    low = 10 ** random.uniform(1.3, 3.5) if random.random() < 0.5 else 0
    high = 10 ** random.uniform(3, 3.9) if random.random() < 0.5 else 9_000
    low = high / 2 if low * 1.5 > high else low
    response = lambda hz: np.maximum(hz, 20) ** (-slope / 2) * between(hz, low, high, 6)
    sound = shaped(random, count, response)
    return sound / rms(sound) * swell(random, count)


def hum(random, count, talk):
    base, sound = 10 ** random.uniform(1.4, 2.6), 0
    for harmonic in range(1, int(random.integers(3, 16))):
        loud = random.uniform(0.2, 1) * random.uniform(0.4, 0.9) ** harmonic
        sound = sound + loud * tone(random, count, base * harmonic)
    turning = 1 + random.uniform(0, 0.3) * tone(random, count, random.uniform(4, 40))
    return sound / rms(sound) * turning + gain(-random.uniform(3, 22)) * colored(random, count, talk)


def blows(random, count, talk):
    sound = gain(-random.uniform(5, 30)) * colored(random, count, talk)
    for start in random.integers(0, count, random.poisson(10 ** random.uniform(-0.3, 0.9) * count / RATE)):
        length = min(count - start, RATE // 2)
        loud = gain(random.uniform(-10, 14))
        for _ in range(int(random.integers(3, 7))):
            decay = np.exp(-np.arange(length) / RATE / 10 ** random.uniform(-2.3, -0.9))
            sound[start : start + length] += (
                loud * decay * tone(random, length, 10 ** random.uniform(2.6, 3.85))
            )
    return sound


def people(random, count, talk):
    """Three to eight who talk at once."""
    sound = np.zeros(count)
    for _ in range(int(random.integers(3, 9))):
        said = [talk[n] for n in random.integers(0, len(talk), 1 + count // 20_000)]
        said = faster(np.concatenate(said), random.uniform(0.85, 1.18))
        turned = np.roll(np.resize(said, max(count, len(said))), int(random.integers(len(said))))
        sound += gain(-random.uniform(0, 7)) * turned[:count] / rms(said)
    return sound


def noise(random, count, talk):
    """At a mean level of 1. `talk`: recordings of people who talk."""
    def piece():
        kind = random.choice(list(KINDS), p=list(KINDS.values()))
        sound = globals()[kind](random, count, talk)
        return sound / rms(sound)

    sound = piece()
    if random.random() < SECOND:
        sound = sound + gain(-random.uniform(0, 15)) * piece()
    return sound / rms(sound)


def faster(samples, times):
    """And higher, as another person's voice is."""
    return np.interp(np.arange(0, len(samples) - 1, times), np.arange(len(samples)), samples)


def voice(random, samples):
    """The same words by a slightly other person, into another microphone, in another room."""
    samples = faster(samples, random.uniform(0.88, 1.14))
    if random.random() < 0.5:
        steps_db = random.uniform(-7, 7, 6)
        at = np.log([50, 200, 600, 1_800, 4_000, 8_000])
        low = random.uniform(60, 300) if random.random() < 0.3 else 0
        high = random.uniform(3_400, 7_500) if random.random() < 0.3 else 1e6
        def response(hz):
            curve = gain(np.interp(np.log(np.maximum(hz, 20)), at, steps_db))
            return curve * between(hz, low, high, 8)

        samples = same_level(filtered(samples, response), samples)
    if random.random() < 0.3:
        samples = same_level(in_a_room(random, samples), samples)
    return samples


def same_level(samples, as_these):
    return samples * rms(as_these) / rms(samples)


def in_a_room(random, samples):
    """An echo that falls by 60 dB within 0.1 to 0.5 s, 3 to 14 dB below the direct sound."""
    length = int(RATE * random.uniform(0.1, 0.5))
    echo = random.standard_normal(length) * np.exp(-6.9 * np.arange(length) / length)
    echo *= gain(-random.uniform(3, 14)) / np.sqrt(np.sum(np.square(echo)))
    echo[0] = 1
    size = len(samples) + length
    sound = np.fft.irfft(np.fft.rfft(samples, size) * np.fft.rfft(echo, size), size)
    return sound[: len(samples) + length // 2]


def utterance(random, samples, talk):
    """Speech as the ear cuts it out: a little noise before and behind it, at some level."""
    samples = voice(random, samples)
    before, after = int(random.uniform(0.1, 0.7) * RATE), int(random.uniform(0.2, 1) * RATE)
    sound = np.pad(samples, (before, after))
    drawn = random.random()
    if drawn < 0.12:
        sound += noise(random, len(sound), talk) * gain(SPEECH_DB - random.uniform(35, 60))
    else:
        sound += noise(random, len(sound), talk) * gain(SPEECH_DB - random.uniform(1, 24))
    return sound * gain(random.uniform(-14, 6))


def nobody(random, longest_s, talk):
    """Noise in which nobody speaks to us."""
    count = int(random.uniform(0.5, min(4, longest_s)) * RATE)
    return noise(random, count, talk) * gain(SPEECH_DB + random.uniform(-25, 6))
