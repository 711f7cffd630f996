#!/usr/bin/env python3
"""People in noise: numbers put together from recordings of single words, and other sentences.

    scripts/make-corpus --people

- Allison Smith, of Debian's `asterisk-core-sounds-en-g722` (CC BY-SA 3.0): digits, teens, tens, "hundred",
  "thousand", "oh" and "minus"; 50 announcements, of which the file's name is given for words, are other
  talk. In `people-LEVEL.json`.
- David C Dawson, of Debian's `saytime` (GPL), at 8 kHz: numbers to twenty, "thirty", "forty", "fifty" and "oh".
- Who speaks in PyPI `spokennumbers` (MIT; it does not say who): digits. These two in `more-people-LEVEL.json`.
- Four people who announce in French, Spanish, Italian and Russian, of Debian's `asterisk-core-sounds-{fr,es,it,ru}-g722`
  (CC BY-SA 3.0), 50 announcements each: talk that is not for us. In `strangers-LEVEL.json`.

Each word was said once. A number is its words one after another with 20 to 100 ms between. Nothing is tuned on
them, but that limits were looked at on Allison's, too: see `benches/hearing.md`.
"""

import importlib.util
from dataclasses import dataclass
from pathlib import Path
from typing import Callable

import numpy as np
import soundfile
from G722 import G722

import phrases
from level import brought_to
from noise import RATE, write
from voices import resampled

SOUNDS = Path("/usr/share/asterisk/sounds")
ALLISON = "en_US_f_Allison"
STRANGERS = {
    "french": "fr_CA_f_June",
    "spanish": "es_MX_f_Allison",
    "italian": "it_IT_m_Carlo",
    "russian": "ru_RU_f_IvrvoiceRU",
}
DAWSON = Path("/usr/share/saytime")
OF_EACH_FORM = 14
# So often a form is tried for words that somebody said.
TRIES = 40
TALKS = 50
# Bytes of an announcement, 8,000 a second; what is behind six seconds is left out.
SHORTEST, LONGEST = 12_000, 40_000
MOST_S = 6
GAP_S = (0.02, 0.10)
# Silence, and for who was recorded softly, of the loudest sample.
QUIET, QUIET_SHARE = 0.01, 0.06


def below_zero(random):
    return f"minus {phrases.cardinal(random)}"


FORMS = [
    phrases.one_digit, phrases.digits, phrases.oh, phrases.cardinal, phrases.hundreds,
    phrases.round_hundreds, phrases.clipped, phrases.thousands, phrases.digits, phrases.cardinal,
    below_zero,
]  # fmt: skip


@dataclass
class Person:
    name: str
    forms: list
    # Gives the samples of a recording by its name.
    said: Callable
    has: Callable = lambda _: True
    # Before the names of numbers.
    folder: str = ""
    # The names of what is no number.
    talk: tuple = ()


def without_silence(samples, quiet):
    loud = np.flatnonzero(np.abs(samples) > quiet)
    return samples[max(0, loud[0] - RATE // 50) : loud[-1] + RATE // 30]


def announcer(name, speaker, **rest):
    """A person of the announcements, whose folder is called by the speaker."""

    def said(file):
        coded = (SOUNDS / speaker / f"{file}.g722").read_bytes()
        return without_silence(np.array(G722(RATE, 64_000).decode(coded)) / 32_768, QUIET)

    files = sorted((SOUNDS / speaker).glob("*.g722"))
    talk = tuple(f.stem for f in files if SHORTEST < f.stat().st_size < LONGEST)
    return Person(name, said=said, talk=talk, **rest)


def in_folder(name, forms, folder, ending):
    def said(word):
        samples, rate = soundfile.read(folder / f"{word}{ending}", always_2d=True)
        samples = resampled(samples.mean(1), rate)
        return without_silence(samples, QUIET_SHARE * np.abs(samples).max())

    return Person(name, forms, said, lambda word: (folder / f"{word}{ending}").exists())


def people():
    """Those of each manifest."""
    spoken = Path(importlib.util.find_spec("spokennumbers").origin).parent / "default"
    return {
        "people": [announcer("allison", ALLISON, forms=FORMS, folder="digits/")],
        "more-people": [
            in_folder("dawson", FORMS, DAWSON, ".au"),
            in_folder("spoken", [phrases.one_digit, *3 * [phrases.digits]], spoken, ".wav"),
        ],
        "strangers": [announcer(*stranger, forms=[]) for stranger in STRANGERS.items()],
    }


def file_name(word):
    """Numbers are called by their digits."""
    return str(phrases.VALUES.get(word, word))


def numbers(random, person):
    """The words of each number, once, and its form."""
    drawn = {}
    for form in person.forms:
        for _ in range(OF_EACH_FORM):
            for _ in range(TRIES):
                words = form(random).replace(" and ", " ")
                if all(person.has(file_name(word)) for word in words.split()):
                    drawn.setdefault(words, form.__name__.replace("_", " "))
                    break
    return sorted(drawn.items())


def say(words, random, person):
    parts = []
    for word in words.split():
        parts += [np.zeros(int(random.uniform(*GAP_S) * RATE))]
        parts += [person.said(person.folder + file_name(word))]
    return np.concatenate(parts[1:])


def entries(random, folder, level_db, person):
    """Each utterance as the corpus lists it, its speech at that level in a file of its own."""
    folder.mkdir(parents=True, exist_ok=True)
    found = []

    def keep(name, samples, words, kind, form):
        path = folder / f"{person.name}-{name}.wav"
        write(path, np.clip(brought_to(level_db, samples, RATE), -1, 1))
        about = {"words": words, "kind": kind, "form": form, "voice": person.name}
        found.append({"said": path, **about})

    for at, (words, form) in enumerate(numbers(random, person)):
        keep(f"{at:03}", say(words, random, person), words, "reading", form)
    for at in random.permutation(len(person.talk))[:TALKS]:
        name = person.talk[int(at)]
        keep(name, person.said(name)[: MOST_S * RATE], name, "talk", "talk")
    return found
