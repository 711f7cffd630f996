#!/usr/bin/env python3
"""The noise of a plant at 16 kHz: seeded, made from what is heard of each source, no recording.

    noise.py KIND SECONDS SEED FILE.wav [TALK.wav ...]   KIND: a name in KINDS, `plant` for all in turn

Of what is said in the talk, six people at once make the babble; without it there is none. Writes the
file 20 dB below full scale and prints its SHA-256. A supply of 60 Hz, a four-pole motor
at 1,450 turns a minute with six vanes. Spectra, modulation and blows are common practice, no source.
"""

import hashlib
import sys
import wave
from pathlib import Path

import numpy as np
import voices

RATE = 16_000
SHAFT_HZ = 1_450 / 60
KINDS = ["pump", "fan", "hiss", "burner", "clatter", "babble"]
# Several people at once; the nearest is 6 dB louder than the farthest.
TALKERS = 6


def generator(seed, kind):
    """Draws that depend on nothing but the seed and the kind."""
    return np.random.Generator(np.random.Philox([seed, KINDS.index(kind)]))


def times(count):
    return np.arange(count) / RATE


def shaped(random, count, gain):
    """White noise, filtered."""
    return filtered(random.standard_normal(count), gain)


def filtered(samples, gain):
    """The samples, their spectrum multiplied by `gain` of the frequency in hertz."""
    count = len(samples)
    spectrum = np.fft.rfft(samples) * gain(np.fft.rfftfreq(count, 1 / RATE))
    return np.fft.irfft(spectrum, count)


def low(hz, limit):
    """A Butterworth filter of fourth order, by its magnitude."""
    return 1 / np.sqrt(1 + (hz / limit) ** 8)


def high(hz, limit):
    return low(limit, np.maximum(hz, 1e-3))


def tone(random, count, hz):
    return np.sin(2 * np.pi * (hz * times(count) + random.uniform()))


def pump(random, count, _talk):
    """The iron's hum, each harmonic 6 dB below the one before, its shaft, its vanes."""
    hum = sum(0.5**k * tone(random, count, 120 * (k + 1)) for k in range(8))
    vanes = 0.25 * tone(random, count, 6 * SHAFT_HZ)
    wear = 0.05 * shaped(random, count, lambda hz: low(hz, 3_000))
    return (hum + vanes) * (1 + 0.1 * tone(random, count, SHAFT_HZ)) + wear


def fan(random, count, _talk):
    """Rushing air, and the tone of seven blades."""
    air = shaped(random, count, lambda hz: low(hz, 4_000) / np.sqrt(np.maximum(hz, 20)))
    return air / rms(air) + 0.3 * tone(random, count, 7 * SHAFT_HZ)


def hiss(random, count, _talk):
    """A leak of steam or compressed air."""
    return shaped(random, count, lambda hz: high(hz, 2_500)) * swell(random, count, 0.3, 0.2)


def burner(random, count, _talk):
    """A flame."""
    flame = shaped(random, count, lambda hz: high(hz, 100) * low(hz, 1_000))
    return flame * swell(random, count, 0.3, 3.0)


def swell(random, count, depth, hz):
    return 1 + depth * tone(random, count, hz)


def clatter(random, count, _talk):
    """Metal on metal: one and a half blows a second, each five decaying tones, over some rumble."""
    sound = shaped(random, count, lambda hz: low(hz, 500)) * 0.05
    seconds = count / RATE
    for start in random.uniform(0, seconds, random.poisson(1.5 * seconds)):
        blow = 10 ** (random.uniform(-6, 0) / 20)
        first = int(start * RATE)
        length = min(count - first, RATE // 2)
        for _ in range(5):
            decay = np.exp(-times(length) / random.uniform(0.015, 0.080))
            ring = tone(random, length, random.uniform(800, 6_000)) * decay
            sound[first : first + length] += blow * ring
    return sound


def babble(random, count, talk):
    """People at work elsewhere, without end: each begins somewhere in his own talk."""
    if not talk:
        sys.exit("babble needs recordings of talk, and there are none")
    sound = np.zeros(count)
    for talker in range(TALKERS):
        speech = np.concatenate([talk[i] for i in random.permutation(len(talk))])
        start = int(random.integers(len(speech)))
        level = 10 ** (-6 * talker / (TALKERS - 1) / 20) / rms(speech)
        sound += level * np.resize(np.roll(speech, -start), count)
    return sound


def rms(samples):
    return float(np.sqrt(np.mean(np.square(samples)))) or 1.0


def noise(kind, count, seed, talk=()):
    """`count` samples of one kind at a mean level of 1. `talk`: recordings, for babble alone."""
    random = generator(seed, kind)
    sound = globals()[kind](random, count, talk)
    return sound / rms(sound)


def plant(count, seed, talk=()):
    """All kinds with talk or without: every minute another is the loudest and the others lie 6 to
    30 dB below it; in every tenth minute a compressor runs and everything is 10 dB louder."""
    kinds = KINDS if talk else KINDS[:-1]
    random = np.random.Generator(np.random.Philox(seed))
    sound = np.zeros(count)
    for minute, first in enumerate(range(0, count, 60 * RATE)):
        length = min(60 * RATE, count - first)
        part = np.zeros(length)
        for at, kind in enumerate(kinds):
            below = 0 if at == minute % len(kinds) else random.uniform(6, 30)
            part += 10 ** (-below / 20) * noise(kind, length, seed + minute, talk)
        louder = 10 if minute % 10 == 9 else 0
        sound[first : first + length] = part / rms(part) * 10 ** (louder / 20)
    return sound


def write(path, samples):
    """A WAV file of samples from -1 to 1, and its SHA-256."""
    with wave.open(str(path), "wb") as target:
        target.setnchannels(1)
        target.setsampwidth(2)
        target.setframerate(RATE)
        target.writeframes(np.round(np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    with open(path, "rb") as file:
        return hashlib.sha256(file.read()).hexdigest()


def main():
    kinds = [*(KINDS if len(sys.argv) > 5 else KINDS[:-1]), "plant"]
    if len(sys.argv) < 5 or sys.argv[1] not in kinds:
        sys.exit(__doc__)
    kind, seconds, seed, path, *talk = sys.argv[1:]
    count = int(float(seconds) * RATE)
    talk = [voices.read(Path(file).read_bytes()) for file in talk]
    if kind == "plant":
        sound = plant(count, int(seed), talk)
    else:
        sound = noise(kind, count, int(seed), talk)
    print(write(path, 0.1 * sound))


if __name__ == "__main__":
    main()
