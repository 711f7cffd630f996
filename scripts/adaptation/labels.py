"""What the network shall write for each recording: pieces of its vocabulary.

Without noise it mostly writes what was said; that is kept, as its own way to write. Where it hears
something else of what is for us, the likeliest of some ways to write what was said takes its place.
"""

import re
from pathlib import Path

import torch

from network import RATE, spectrum_of
from phrases import DIGITS, RADIO, TENS, VALUES

WRITTEN = Path(__file__).parents[2] / "grammars" / "en-US" / "written.txt"
SAME = {said: word for word, said in RADIO.items()} | {"decimal": "point"}
FRAMES = 1_000
BEFORE = 3 * RATE // 10
LONGEST = 36
TOGETHER = 16


def plain(words):
    return [SAME.get(word, word) for word in words]


def below_hundred(words, at):
    """The number that begins there, and where it ends; `None` if there is none."""
    if at >= len(words) or words[at] not in VALUES:
        return None
    value, next_word = VALUES[words[at]], words[at + 1 : at + 2]
    if words[at] in TENS and next_word and next_word[0] in DIGITS[1:]:
        return value + VALUES[next_word[0]], at + 2
    return value, at + 1


def number(words, at):
    """The same for numbers with hundreds and thousands."""
    found = below_hundred(words, at)
    for word, times, below in [("hundred", 100, below_hundred), ("thousand", 1_000, number)]:
        if found and found[0] and words[found[1] : found[1] + 1] == [word]:
            value, end = found[0] * times, found[1] + 1
            rest = below(words, end + (words[end : end + 1] == ["and"]))
            found = (value + rest[0], rest[1]) if rest and rest[0] < times else (value, end)
    return found


def in_digits(words):
    """The words, with numbers as digits: "two hundred and five" and "two oh five" become "205"."""
    words, out, at, digits = plain(words), [], 0, ""
    while at < len(words):
        next_digit = words[at + 1 : at + 2] and words[at + 1] in DIGITS
        if found := number(words, at):
            digits, at = digits + str(found[0]), found[1]
        elif words[at] == "oh" and digits:
            digits, at = digits + "0", at + 1
        elif words[at] == "point" and next_digit and "." not in digits:
            digits, at = digits + ".", at + 1
        else:
            out += [digits, words[at]]
            digits, at = "", at + 1
    return [part for part in [*out, digits] if part]


def signs():
    """The shortest way to write each word that is no number."""
    known = {}
    for line in WRITTEN.read_text(encoding="utf-8").splitlines():
        word, *ways = line.split("#")[0].split() or [""]
        if ways and word not in [*DIGITS, "point", "oh", "k"]:
            known[word] = ways[0]
    return known


SIGNS = signs()


def same(written, words):
    """Whether a text says these words, marks and ways of writing numbers aside."""
    return normal(written) == normal(words)


def normal(text):
    text = re.sub(r"[^a-z0-9.'µω%° ]", " ", text.lower().replace("-", " ").replace(",", " "))
    text = re.sub(r"(?<=\d)(?=[a-z])", " ", re.sub(r"\.(?!\d)", " ", text))
    units = {"v": "volts", "a": "amps", "volt": "volts", "ohm": "ohms", "amp": "amps"}
    words = [units.get(word, word) for word in in_digits(text.split())]
    return re.sub(r"\b0(?=\.)|(?<=\d) (?=\d)", "", " ".join(words))


def ways_to_write(words):
    split = plain(words.split())
    short = in_digits(split)
    signed = " ".join(SIGNS.get(word, word) for word in short)
    digits = " ".join(str(VALUES[word]) if word in DIGITS else word for word in split)
    joined = re.sub(rf"\b({'|'.join(TENS)}) ({'|'.join(DIGITS[1:])})\b", r"\1-\2", words)
    ways = [words, joined, " ".join(short), signed, digits]
    ways += [re.sub(r"(?<=\d) (?=[A-ZΩµk%°m])", "", signed), re.sub(r"(?<=\d) (?=\d)", ", ", digits)]
    return list(dict.fromkeys(f" {way[0].upper()}{way[1:]}{end}" for way in ways for end in [".", ""]))


class Writer:
    """The network as it was trained, and its vocabulary."""

    def __init__(self, network, tokenizer, vocabulary):
        self.network, self.tokenizer = network, tokenizer
        self.start, self.no_times, self.end, self.nobody = (
            vocabulary.index(f"<|{mark}|>")
            for mark in ["startoftranscript", "notimestamps", "endoftext", "nocaptions"]
        )

    def pieces(self, text):
        return self.tokenizer.encode(text, add_special_tokens=False).ids

    def likeliest(self, encoded):
        """The likeliest piece each time, until the end."""
        rows = torch.tensor([[self.start, self.no_times]] * len(encoded))
        ended = torch.zeros(len(encoded), dtype=torch.bool)
        for _ in range(LONGEST):
            next_piece = self.network.decode(rows, encoded, only_last=True)[:, -1].float()
            next_piece = next_piece[:, : self.end + 1].argmax(-1)
            next_piece[ended] = self.end
            ended |= next_piece == self.end
            rows = torch.cat([rows, next_piece[:, None]], 1)
            if ended.all():
                break
        written = [row[2:].tolist() for row in rows]
        return [row[: row.index(self.end)] if self.end in row else row for row in written]

    def best(self, ways, encoded):
        """The likeliest of some texts."""
        texts = [self.pieces(way) for way in ways]
        longest = max(map(len, texts))
        padded = [[self.start, self.no_times, *text] + [self.end] * (longest - len(text))
                  for text in texts]  # fmt: skip
        rows = torch.tensor(padded)
        likely = self.network.decode(rows, encoded.expand(len(texts), -1, -1))
        likely = likely.float().log_softmax(-1)
        def score(n):
            return sum(likely[n, 1 + at, piece] for at, piece in enumerate([*texts[n], self.end]))

        return texts[max(range(len(texts)), key=score)]

    @torch.no_grad()
    def label(self, recordings):
        """Gives each recording its `pieces`."""
        in_order = sorted(recordings, key=lambda recording: len(recording["samples"]))
        for first in range(0, len(in_order), TOGETHER):
            batch = in_order[first : first + TOGETHER]
            sound = torch.zeros(len(batch), BEFORE + max(len(r["samples"]) for r in batch))
            for row, recording in zip(sound, batch, strict=True):
                samples = torch.from_numpy(recording["samples"]).float()
                row[BEFORE : BEFORE + len(samples)] = samples
            with torch.autocast("cpu", torch.bfloat16):
                encoded = self.network.encode(spectrum_of(sound, FRAMES))
                for n, pieces in enumerate(self.likeliest(encoded)):
                    words = batch[n]["words"]
                    if batch[n]["for_us"] and not same(self.tokenizer.decode(pieces), words):
                        pieces = self.best(ways_to_write(words), encoded[n : n + 1])
                    batch[n]["pieces"] = pieces
