"""What each voice says: every command and answer, numbers in every form, units, and other talk."""

import re
from pathlib import Path

import grammar

DIGITS = "zero one two three four five six seven eight nine".split()
TEENS = (
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
)
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
VALUES = {word: n for n, word in enumerate(DIGITS + TEENS)} | {
    word: 20 + 10 * n for n, word in enumerate(TENS)
}
HERE = Path(__file__).parent
TALK = (HERE / "talk.txt").read_text(encoding="utf-8").splitlines()
# Sentences that begin like a command.
STOP_TALK = (HERE / "stop_talk.txt").read_text(encoding="utf-8").splitlines()
# How digits are said beside their usual names.
RADIO = {"three": "tree", "four": "fower", "five": "fife", "nine": "niner"}


def digit(random, first=False):
    return DIGITS[int(random.integers(1 if first else 0, 10))]


def row(random, count):
    return [digit(random, first=True)] + [digit(random) for _ in range(count - 1)]


def below_hundred(random):
    if random.random() < 0.4:
        return pick(random, TEENS)
    tens = pick(random, TENS)
    return tens if random.random() < 0.3 else f"{tens} {digit(random, first=True)}"


def pick(random, choices):
    return choices[int(random.integers(len(choices)))]


def digits(random):
    return " ".join(row(random, int(random.integers(2, 5))))


def one_digit(random):
    return digit(random, first=True)


def oh(random):
    return f"{digit(random, first=True)} oh {digit(random, first=True)}"


def radio(random):
    return " ".join(RADIO.get(word, word) for word in row(random, 3))


def double(random):
    return f"{pick(random, ['double', 'triple'])} {digit(random, first=True)} {digit(random)}"


def cardinal(random):
    return below_hundred(random)


def hundreds(random):
    join = pick(random, [" ", " and "])
    return f"{digit(random, first=True)} hundred{join}{below_hundred(random)}"


def round_hundreds(random):
    return f"{pick(random, DIGITS[1:] + TEENS[1:])} hundred"


def clipped(random):
    return f"{digit(random, first=True)} {below_hundred(random)}"


def pairs(random):
    return f"{pick(random, TEENS[1:])} {pick(random, ['fifty', 'twenty five', 'oh five', 'eighty'])}"


def thousands(random):
    return f"{digit(random, first=True)} thousand {digit(random, first=True)} hundred"


def decimal(random):
    whole = pick(random, [digit(random), below_hundred(random), " ".join(row(random, 2))])
    parts = " ".join(digit(random) for _ in range(int(random.integers(1, 3))))
    return f"{whole} {pick(random, ['point', 'point', 'decimal'])} {parts}"


def leading_point(random):
    return f"point {digit(random)} {digit(random)}"


def fraction(random):
    part = pick(random, ["and a half", "and a quarter", "and three quarters", "and five eighths"])
    return f"{pick(random, DIGITS[1:] + TEENS[:3])} {part}"


def below_zero(random):
    return f"minus {pick(random, [decimal(random), cardinal(random), one_digit(random)])}"


def multiplier(random):
    return f"{digit(random, first=True)} point {digit(random)} {pick(random, ['k', 'meg'])}"


def multiplier_inside(random):
    return f"{digit(random, first=True)} {pick(random, ['k', 'meg'])} {digit(random)}"


def about(random):
    return f"{pick(random, ['about', 'around', 'roughly'])} {cardinal(random)}"


def between(random):
    low = int(random.integers(0, 7))
    return f"between {TENS[low]} and {TENS[low + 1]}"


def meter(random):
    said = ["over limit", "over range", "overload", "open line", "short", "short circuit"]
    return pick(random, [*said, "dead short", "no reading", "no display", "blank display", "o l"])


FORMS = [
    one_digit, digits, oh, radio, double, cardinal, hundreds, round_hundreds, clipped, pairs,
    thousands, decimal, leading_point, fraction, below_zero, multiplier, multiplier_inside, about,
    between, meter,
]  # fmt: skip


def commands(random):
    """Every command with its synonyms; those that may bring a value also with one."""
    plain = grammar.phrases("commands", "command")
    with_value = [f"{word} {clipped(random)}" for word in ["correction", "negative", "no"]]
    return [(phrase, "command", "command") for phrase in plain] + [
        (phrase, "command", "command with a value") for phrase in with_value
    ]


def answers():
    return [(phrase, "choice", rule) for phrase, rule in grammar.choices()]


def numbers(random, rounds):
    return [
        (form(random), "reading", form.__name__.replace("_", " "))
        for _ in range(rounds)
        for form in FORMS
    ]


def all_units():
    """What the grammar takes and nobody says is left out."""
    return [w for w in grammar.phrases("units", "unit") if not re.search("a hour|an minute", w)]


def units(random, number, voices):
    """Every unit by one of the voices, with a number."""
    mine = all_units()[number::voices]
    forms = [one_digit, cardinal, decimal, clipped, digits]
    return [(f"{pick(random, forms)(random)} {unit}", "reading", "unit") for unit in mine]


def half(sentences, training):
    return sentences[0::2] if training else sentences[1::2]


def stop_talk(training):
    """Each twice, as it is said another way the second time."""
    return [(line, "talk", "stop talk") for line in half(STOP_TALK, training) for _ in range(2)]


def talk(random, training, count):
    """Half of the sentences belong to the training voices, the others to those held out."""
    mine = half(TALK, training)
    order = random.permutation(len(mine))[:count]
    return [(mine[int(i)], "talk", "talk") for i in order]


def script(random, number, voices, training):
    """All that one voice says: the words, what they are, and their form."""
    return (
        commands(random)
        + answers()
        + numbers(random, 3)
        + units(random, number, voices)
        + talk(random, training, 36)
    )
