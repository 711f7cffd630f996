#!/usr/bin/env python3
"""Makes the recordings of this folder from manifest.tsv with flite and espeak-ng.

The recordings are committed: what the engines hear in them is a test. Make them anew only to add
to them, and run the tests afterwards; other versions of the voices sound different.
"""

import pathlib
import subprocess
import wave

FOLDER = pathlib.Path(__file__).parent
BEFORE, AFTER = 0.3, 0.5  # seconds of silence around the speech


def speak(voice, options, words, path):
    if voice == "flite":
        command = ["flite", *options, "-t", words, "-o", str(path)]
    else:
        command = ["espeak-ng", *options, "-w", str(path), words]
    subprocess.run(command, check=True)


def pad(path):
    with wave.open(str(path)) as file:
        parameters, speech = file.getparams(), file.readframes(file.getnframes())
    silence = bytes(parameters.sampwidth * parameters.nchannels)
    with wave.open(str(path), "w") as file:
        file.setparams(parameters)
        file.writeframes(silence * int(BEFORE * parameters.framerate))
        file.writeframes(speech)
        file.writeframes(silence * int(AFTER * parameters.framerate))


for line in (FOLDER / "manifest.tsv").read_text(encoding="utf-8").splitlines():
    if not line.startswith("#"):
        name, _locale, voice, options, spoken, _heard = line.split("\t")
        speak(voice, options.split(), spoken, FOLDER / name)
        pad(FOLDER / name)
        print(name)
