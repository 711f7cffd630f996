#!/usr/bin/env python3
"""Fits how far what an engine heard is to be trusted, on scores of the training voices.

    readback hear --engine NAME --json --score target/corpus/training-10.json > scores.json
    scripts/corpus/fit.py scores.json... > src/hearing/trust.json

A logistic regression of whether just these words were said to us, on the acoustic score of a frame
and on the margin over common words. What is believed follows from what errors cost: against one
repeat, a wrong value that its readback catches costs two thirds of one more, a step left by mistake two,
another command, which is heard at once in what it does, two thirds, a stand-by a third, and a stop too
many a ninth, as one that is not heard may cost a hand. Also prints, to standard error, what would be believed of each recording if it were judged by weights fitted on the others
(five parts, drawn by lot from the seed).
"""

import json
import sys

import numpy as np

SEED = 5
PARTS = 5
FEATURES = ["acoustic", "margin"]
COSTS = {"stop": 1 / 9, "pause": 1 / 3, "step": 2, "command": 2 / 3, "other": 2 / 3}
# Of the squared weights, features in tens.
PENALTY = 0.05
SCALE = 10.0


def examples(path):
    """Of every utterance that words were heard in: its recording, its features, its truth."""
    document = json.loads(open(path, encoding="utf-8").read())
    for recording in document["utterances"]:
        for heard in recording["heard"]:
            best = (heard["hypotheses"] or [{}])[0]
            if best.get("margin") is None:
                continue
            features = [best[name] / SCALE for name in FEATURES]
            for_us = recording["kind"] not in ["talk", "noise"]
            yield document["engine"], recording["file"], for_us, [*features, 1.0], heard["fits"]


def fitted(features, truth):
    weights = np.zeros(features.shape[1])
    for _ in range(100):
        likely = sure(features, weights)
        slope = features.T @ (truth - likely) - PENALTY * weights
        spread = (features * (likely * (1 - likely))[:, None]).T @ features
        weights += np.linalg.solve(spread + PENALTY * np.eye(len(weights)), slope)
    return weights


def sure(features, weights):
    return 1 / (1 + np.exp(-features @ weights))


def tell(found, features, truth, least):
    """Prints what would be believed of recordings that the weights were not fitted on."""
    files = sorted({file for _, file, _, _, _ in found})
    order = np.random.Generator(np.random.PCG64(SEED)).permutation(len(files))
    part = {files[at]: n % PARTS for n, at in enumerate(order)}
    parts = np.array([part[file] for _, file, _, _, _ in found])
    score = np.zeros(len(found))
    for own in range(PARTS):
        weights = fitted(features[parts != own], truth[parts != own])
        score[parts == own] = sure(features[parts == own], weights)
    believed = score >= least
    for_us = np.array([us for _, _, us, _, _ in found])
    counts = [truth, for_us & ~truth.astype(bool), ~for_us]
    for name, among in zip(["right", "wrong", "talk and noise"], counts, strict=True):
        among = among.astype(bool)
        print(f"{name}: {(believed & among).sum()} of {among.sum()} believed", file=sys.stderr)


def main():
    found = [example for path in sys.argv[1:] for example in examples(path)]
    if not found:
        sys.exit(__doc__)
    features = np.array([f for _, _, _, f, _ in found])
    truth = np.array([t for _, _, _, _, t in found], dtype=float)
    least = {name: round(cost / (1 + cost), 2) for name, cost in COSTS.items()}
    tell(found, features, truth, least["other"])
    weights = fitted(features, truth)
    names = {name: round(float(w) / SCALE, 4) for name, w in zip(FEATURES, weights, strict=False)}
    trust = {
        "fitted_on": f"{len(found)} utterances of the corpus's training voices, seed {SEED}",
        "weights": {"constant": round(float(weights[-1]), 3), **names},
        "least": least,
    }
    print(json.dumps({found[0][0]: trust}, indent=2))


main()
