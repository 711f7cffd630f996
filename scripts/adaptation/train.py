#!/usr/bin/env python3
"""Adapts the network for English to speech in noise: writes `src/hearing/network/adaptation.bin`.

    scripts/make-adaptation [--steps 2200] [--share 0.8] [--from FILE --fewer] [--to FILE]

Voices are those of the corpus that are for training; noise, rooms and microphones are drawn anew for
every step, and none is a noise that hearing is measured in (`disturb.py`). What was said is other
talk, too, so that the network goes on writing down what is not for us. An hour for 2,200 steps
on two cores. `--from` goes on from a file that was written, more carefully; `--fewer` says less, which
takes less time. Of what was learned `--share` is written: all of it hears noise best and what was never
said in training worst. Every recording is also said by somebody who does not exist (`others.py`).
"""

import argparse
import math
import queue
import threading
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F
from tokenizers import Tokenizer

import disturb
from labels import Writer
from network import HOP, RATE, Network, read_weights, spectrum_of, take_up, write_changes
from others import by_others
from said import all_said
from voices import FORMANT

MODEL = Path("vendor/models/network-en")
TOKENIZER = Path("target/adaptation/tokenizer.json")
SEED = 2024
BATCH = 8
RATE_OF_LEARNING, GOING_ON, WARM_UP = 1.2e-3, 5e-4, 60
# Frames in which an utterance is heard, and how often.
FRAMES = {600: 0.25, 800: 0.5, 1_500: 0.25}
SILENT_S = 0.1
NOBODY = 0.08
FOR_US, TALK, BY_RULE = 1.3, 0.9, 0.8
MOST_PIECES = 30
WEIGHT_OF_TEXT = 0.2


class Draws:
    """Batches, drawn from what was said."""

    def __init__(self, said, writer):
        self.said = [recording for recording in said if len(recording["pieces"]) <= MOST_PIECES]
        human = [r for r in self.said if r["voice"] not in FORMANT]
        self.talk = [r["samples"] for r in human if not r["for_us"]]
        weights = np.array([
            (FOR_US if r["for_us"] else TALK) * (BY_RULE if r["voice"] in FORMANT else 1)
            for r in self.said
        ])  # fmt: skip
        self.shares = weights / weights.sum()
        self.writer = writer

    def sample(self, random, frames):
        """Samples and the pieces to be written; `None` where nobody speaks."""
        longest = frames * HOP - int(SILENT_S * RATE)
        if random.random() < NOBODY:
            return disturb.nobody(random, longest / RATE, self.talk), None
        while True:
            recording = self.said[random.choice(len(self.said), p=self.shares)]
            sound = disturb.utterance(random, recording["samples"], self.talk)
            if len(sound) < longest:
                return sound, recording["pieces"]

    def batch(self, random):
        frames = int(random.choice(list(FRAMES), p=list(FRAMES.values())))
        drawn = [self.sample(random, frames) for _ in range(BATCH)]
        sound = np.zeros((BATCH, frames * HOP), np.float32)
        length = max(len(pieces or []) for _, pieces in drawn) + 2
        given = torch.full((BATCH, length), self.writer.end)
        wanted = torch.full((BATCH, length), -100)
        for n, (samples, pieces) in enumerate(drawn):
            sound[n, : len(samples)] = np.clip(samples, -1, 1)
            given[n, :2] = torch.tensor([self.writer.start, self.writer.no_times])
            if pieces is not None:
                given[n, 2 : 2 + len(pieces)] = torch.tensor(pieces)
                wanted[n, 1 : 2 + len(pieces)] = torch.tensor([*pieces, self.writer.end])
        nobody = torch.tensor([pieces is None for _, pieces in drawn]).float()
        return frames, torch.from_numpy(sound), given, wanted, nobody


def losses(network, batch, mark_of_nobody):
    """Of the text, in nats an utterance; of whether anybody speaks; and how many were right."""
    frames, sound, given, wanted, nobody = batch
    with torch.autocast("cpu", torch.bfloat16):
        with torch.no_grad():
            spectrum = spectrum_of(sound, frames)
        scores = network.decode(given, network.encode(spectrum)).float()
    likely = scores.log_softmax(-1)
    speaks = 1 - nobody
    text = F.nll_loss(likely.flatten(0, 1), wanted.flatten(), ignore_index=-100, reduction="sum")
    silent = likely[:, 0, mark_of_nobody].clamp(max=-1e-4)
    anybody = -(nobody * silent + speaks * torch.log1p(-silent.exp())).mean()
    right = ((scores.argmax(-1) == wanted) | (wanted < 0)).all(1).float()
    return text / speaks.sum(), anybody, (right * speaks).sum() / speaks.sum()


def train(network, draws, steps, mark_of_nobody, rate):
    random = np.random.default_rng(SEED)
    waiting = queue.Queue(6)

    def fill():
        while True:
            waiting.put(draws.batch(random))

    threading.Thread(target=fill, daemon=True).start()
    trained = list(network.parameters())
    optimizer = torch.optim.AdamW(trained, lr=0.0, betas=(0.9, 0.98), weight_decay=0.01)
    seen = []
    for step in range(steps):
        falling = 0.5 + 0.5 * math.cos(math.pi * step / steps)
        for group in optimizer.param_groups:
            group["lr"] = rate * falling * min(1, (step + 1) / WARM_UP)
        text, anybody, right = losses(network, waiting.get(), mark_of_nobody)
        (WEIGHT_OF_TEXT * text + anybody).backward()
        torch.nn.utils.clip_grad_norm_(trained, 1.0)
        optimizer.step()
        optimizer.zero_grad()
        seen.append([text.item(), anybody.item(), right.item()])
        if (step + 1) % 50 == 0:
            text, anybody, right = np.mean(seen[-50:], 0)
            print(f"step {step + 1}: text {text:.2f}, anybody {anybody:.3f}, right {right:.3f}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, usage=argparse.SUPPRESS)
    parser.add_argument("--steps", type=int, default=2_200)
    parser.add_argument("--share", type=float, default=0.8)
    parser.add_argument("--from", dest="begun", type=Path)
    parser.add_argument("--fewer", action="store_true")
    parser.add_argument("--to", type=Path, default=Path("src/hearing/network/adaptation.bin"))
    given = parser.parse_args()
    torch.manual_seed(SEED)
    weights = read_weights(MODEL / "model.bin")
    vocabulary = (MODEL / "vocabulary.txt").read_text(encoding="utf-8").split("\n")
    tokenizer = Tokenizer.from_file(str(TOKENIZER))
    said = all_said(given.fewer)
    print(f"{len(said)} recordings", flush=True)
    writer = Writer(Network(weights, adapted=False), tokenizer, vocabulary)
    writer.label(said)
    said += by_others(said, SEED)
    print("labelled", flush=True)
    network = Network(weights, adapted=True)
    rate = RATE_OF_LEARNING
    if given.begun:
        take_up(network, given.begun)
        rate = GOING_ON
    train(network, Draws(said, writer), given.steps, writer.nobody, rate)
    write_changes(given.to, network, weights, given.share)


main()
