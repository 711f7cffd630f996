"""What the training voices say, beside the corpus: new numbers, and sentences of Debian's fortunes.

The voices are those of `scripts/corpus/voices.py` that are for training, none that is held out, and two of
SVOX Pico (PyPI `ttspico`, Apache 2.0).
"""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from ttspico import TtsEngine

import grammar
import phrases
from level import brought_to
from voices import FORMANT, RATE, VOICES, speak, spelled

SEED = 777
FORTUNES = Path("/usr/share/games/fortunes")
SPEECH_DB = -26.0
WORKERS = 3
# The spelling alphabet of ICAO.
LETTERS = grammar.phrases("spelling", "letter")
# Multiples of units that nobody uses are said less often.
RARE = re.compile("giga|mega|meg |tera|micro|nano|pico|milli (?!volt|amp|ohm)|kilo (?!volt|ohm|watt|hertz|pascal)")


# As in the corpus: name, engine, the engine's own name, for training, usual pitch.
PICO = [("pico-us", "pico", "en-US", True, 90), ("pico-gb", "pico", "en-GB", True, 90)]


def sentences():
    """Short ones without digits or capitals within, in an order drawn by lot."""
    found = []
    for file in sorted(FORTUNES.iterdir()):
        if file.is_dir() or file.suffix in [".dat", ".u8"]:
            continue
        for fortune in file.read_text(encoding="utf-8", errors="ignore").split("%"):
            for sentence in re.split(r"(?<=[.!?])\s+", " ".join(fortune.split())):
                plain = re.fullmatch(r"[A-Z][A-Za-z',\- ]+[.!?]", sentence)
                shouted = re.search(r"\b[A-Z]{2,}\b", sentence)
                if plain and not shouted and 3 <= len(sentence.split()) <= 12:
                    found.append(sentence)
    return found


def serial(random):
    """Letters and digits, as a serial number is spelled."""
    letters = [phrases.pick(random, LETTERS) for _ in range(int(random.integers(1, 4)))]
    return " ".join(letters + phrases.row(random, int(random.integers(1, 5))))


def lines(random, talk, rounds, values, serials):
    """What one voice says: the words and whether they are for us."""
    commands = phrases.commands(random) + phrases.answers()
    chosen = [commands[int(n)] for n in random.permutation(len(commands))[:70]]
    chosen += phrases.numbers(random, rounds)
    chosen += [(serial(random), "reading", "serial") for _ in range(serials)]
    units = phrases.all_units()
    usual = [unit for unit in units if not RARE.search(unit)]
    forms = [phrases.one_digit, phrases.cardinal, phrases.decimal, phrases.decimal, phrases.clipped]
    forms += [phrases.digits, phrases.hundreds]
    for _ in range(values):
        number = phrases.pick(random, forms)(random)
        unit = phrases.pick(random, usual if random.random() < 0.7 else units)
        chosen.append((f"{number} {unit}", "reading", "unit"))
    corpus = phrases.talk(random, True, 12)
    words = [re.sub(r"[^\w' ]", "", sentence).lower() for sentence in talk]
    for_us = [(line[0], True) for line in chosen]
    return for_us + [(line, False) for line in words + [line[0] for line in corpus]]


def all_said(fewer):
    """Each recording's voice, words, whether they are for us, and samples from -1 to 1."""
    random = np.random.Generator(np.random.PCG64(SEED))
    talk = sentences()
    talk = [talk[int(n)] for n in random.permutation(len(talk))]
    jobs = []
    voices = [voice for voice in [*VOICES, *PICO] if voice[3]]
    for voice in voices:
        by_rule = voice[0] in FORMANT
        count, rounds, values, serials = (30, 1, 30, 15) if by_rule else (240, 8, 60, 100)
        if fewer:
            count, rounds, values = count // 3, max(1, rounds // 4), values // 2
        mine, talk = talk[:count], talk[count:]
        jobs += [(voice, n, line) for n, line in enumerate(lines(random, mine, rounds, values, serials))]

    def say(job):
        voice, number, (words, for_us) = job
        manner = np.random.Generator(np.random.PCG64([SEED, voices.index(voice), number]))
        say = pico if voice in PICO else speak
        samples = next(iter(say(voice, [(words, manner)])))
        samples = brought_to(SPEECH_DB, samples, RATE)
        loud = np.flatnonzero(np.abs(samples) > 0.004)
        samples = samples[max(0, loud[0] - RATE // 20) : loud[-1] + RATE // 20]
        return {"voice": voice[0], "words": words, "for_us": for_us, "samples": samples}

    with ThreadPoolExecutor(WORKERS) as workers:
        return list(workers.map(say, jobs))


def pico(voice, lines):
    """As `speak`, in a wider range of pitches: there are but two of these voices."""
    for text, manner in lines:
        engine = TtsEngine(voice[2])
        engine.rate = round(100 * manner.uniform(0.85, 1.2))
        engine.pitch = round(voice[4] * manner.uniform(0.75, 1.2))
        yield np.frombuffer(engine.speak(spelled(text)), "<i2") / 32_768
