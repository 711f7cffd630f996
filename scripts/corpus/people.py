#!/usr/bin/env python3
"""A person in noise: numbers put together from recordings of one speaker, and her other sentences.

    scripts/make-corpus --people

The recordings are those of Debian's `asterisk-core-sounds-en-g722` (Allison Smith, CC BY-SA 3.0): digits, teens,
tens, "hundred", "thousand", "oh" and "minus", each said once. A number is its words one after another with
20 to 100 ms between; 50 announcements, of which the file's name is given for words, are other talk.
Writes `people-LEVEL.json`. Nothing is tuned on them.
"""

from pathlib import Path

import numpy as np
from G722 import G722

import phrases
from level import brought_to
from noise import RATE, write

SOUNDS = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
OF_EACH_FORM = 14
TALKS = 50
# Bytes of an announcement, 8,000 a second; what is behind six seconds is left out.
SHORTEST, LONGEST = 12_000, 40_000
MOST_S = 6
GAP_S = (0.02, 0.10)
QUIET = 0.01


def below_zero(random):
    return f"minus {phrases.cardinal(random)}"


FORMS = [
    phrases.one_digit, phrases.digits, phrases.oh, phrases.cardinal, phrases.hundreds,
    phrases.round_hundreds, phrases.clipped, phrases.thousands, phrases.digits, phrases.cardinal,
    below_zero,
]  # fmt: skip


def recording(name):
    """Without the silence around it."""
    coded = (SOUNDS / f"{name}.g722").read_bytes()
    samples = np.array(G722(RATE, 64_000).decode(coded)) / 32_768
    loud = np.flatnonzero(np.abs(samples) > QUIET)
    return samples[max(0, loud[0] - RATE // 50) : loud[-1] + RATE // 30]


def numbers(random):
    """The words of each number, once, and its form."""
    drawn = {}
    for form in FORMS:
        for _ in range(OF_EACH_FORM):
            words = form(random).replace(" and ", " ")
            drawn.setdefault(words, form.__name__.replace("_", " "))
    return sorted(drawn.items())


def say(words, random):
    parts = []
    for word in words.split():
        parts += [np.zeros(int(random.uniform(*GAP_S) * RATE))]
        parts += [recording(f"digits/{phrases.VALUES.get(word, word)}")]
    return np.concatenate(parts[1:])


def entries(random, folder, level_db):
    """Each utterance as the corpus lists it, its speech at that level in a file of its own."""
    folder.mkdir(parents=True, exist_ok=True)
    found = []

    def keep(name, samples, words, kind, form):
        path = folder / f"people-{name}.wav"
        write(path, np.clip(brought_to(level_db, samples, RATE), -1, 1))
        about = {"words": words, "kind": kind, "form": form, "voice": "allison"}
        found.append({"said": path, **about})

    for at, (words, form) in enumerate(numbers(random)):
        keep(f"{at:03}", say(words, random), words, "reading", form)
    sizes = ((file.stat().st_size, file.stem) for file in sorted(SOUNDS.glob("*.g722")))
    announcements = [name for size, name in sizes if SHORTEST < size < LONGEST]
    for at in random.permutation(len(announcements))[:TALKS]:
        name = announcements[int(at)]
        keep(name, recording(name)[: MOST_S * RATE], name, "talk", "talk")
    return found
