"""What a reference runtime makes of the recordings, for the tests of the crate `network`.

Needs the packages ctranslate2==4.8.5 and faster-whisper==1.2.1, and the model of `scripts/setup`.
Run from the project's folder: scripts/reference/network.py >network/src/reference.txt

Lines: `spectrum FILE FRAME` with the frame's 80 numbers; `encoder FILE ROW` with the first 24 of
the row's; `text FILE LIKELY` with the pieces of the likeliest text, piece after piece, and the sum
of their logarithms, the end included.
"""

import wave
from pathlib import Path

import ctranslate2
import numpy
from faster_whisper.feature_extractor import FeatureExtractor

RECORDINGS = Path("audio-fixtures/hearing")
MODEL = Path("vendor/models/network-en")
RATE = 16_000
SECONDS = 15


def samples(path):
    with wave.open(str(path)) as file:
        assert file.getframerate() == RATE and file.getnchannels() == 1
        data = numpy.frombuffer(file.readframes(file.getnframes()), "<i2")
    return numpy.pad(data, (0, SECONDS * RATE - len(data))).astype("f4") / 32_768


def line(kind, name, number, values):
    print(kind, name, number, *(f"{value:.5f}" for value in values))


def main():
    model = ctranslate2.models.Whisper(str(MODEL), compute_type="float32")
    extractor = FeatureExtractor()
    pieces = (MODEL / "vocabulary.txt").read_text().split("\n")
    prompt = [pieces.index("<|startoftranscript|>"), pieces.index("<|notimestamps|>")]
    end = pieces.index("<|endoftext|>")
    for count, path in enumerate(sorted(RECORDINGS.glob("en-*.wav"))[:20]):
        name = path.name
        spectrum = extractor(samples(path), padding=0)[:, : SECONDS * 100]
        features = numpy.ascontiguousarray(spectrum[None].astype("f4"))
        features = ctranslate2.StorageView.from_array(features)
        if count in (0, 11):
            for frame in (0, 1, 30, 60, 100, 1_499):
                line("spectrum", name, frame, spectrum[:, frame])
            encoded = numpy.array(model.encode(features))[0]
            for row in (0, 20, 50, 400, 749):
                line("encoder", name, row, encoded[row, :24])
        result = model.generate(
            features,
            [prompt],
            beam_size=1,
            length_penalty=0,
            return_scores=True,
            suppress_blank=False,
            suppress_tokens=[],
            max_length=40,
        )[0]
        ids = [piece for piece in result.sequences_ids[0] if piece != end]
        print("text", name, f"{result.scores[0]:.4f}", *ids)


main()
