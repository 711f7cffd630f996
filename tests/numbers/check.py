#!/usr/bin/env python3
"""Number words made by another library must parse to the number they were made from.

    check.py READBACK [COUNT]

Writes COUNT phrases (100,000 by default) with num2words: every kind of integer up to 10^6 and
decimals, from a fixed seed; has READBACK parse them all and compares each value, digits behind the
point included. Ends with 1 where one is wrong.
"""

import json
import random
import subprocess
import sys
from decimal import Decimal

from num2words import num2words

SEED = 20_240_229


def numbers(count):
    """Half integers, small ones more often; half decimals of one to three places."""
    source = random.Random(SEED)
    small = min(count // 2, 2000)
    yield from (Decimal(n) for n in range(small))
    for _ in range(count // 2 - small):
        yield Decimal(source.randrange(10 ** source.randint(3, 6)))
    yield Decimal(1_000_000)
    for _ in range(count - count // 2 - 1):
        places = source.randint(1, 3)
        digits = source.randrange(10 ** (places + source.randint(0, 5)))
        yield Decimal(digits).scaleb(-places)


def phrase(number):
    whole, point, decimals = str(number).partition(".")
    words = num2words(int(whole))
    if point:
        words = " ".join([words, "point", *(num2words(int(digit)) for digit in decimals)])
    # The comma of the thousands is a mark for the eye; nobody pauses there.
    return words.replace(",", "")


def value(answer):
    """The one reading of an answer, or what was understood instead."""
    readings = answer["readings"]
    if answer["complete"] and answer["command"] is None and len(readings) == 1:
        return readings[0]["value"]
    return json.dumps({key: answer[key] for key in ("command", "readings", "complete", "error")})


def main():
    readback, count = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    made = [(phrase(number), str(number)) for number in numbers(count)]
    lines = "".join(f"{words}\n" for words, _ in made)
    command = [readback, "parse", "--json", "-"]
    run = subprocess.run(command, input=lines, stdout=subprocess.PIPE, text=True)
    answers = json.loads(run.stdout)
    if len(answers) != len(made):
        sys.exit(f"{len(answers)} answers to {len(made)} phrases")
    wrong = 0
    for (words, expected), answer in zip(made, answers):
        if value(answer) != expected:
            wrong += 1
            if wrong <= 20:
                print(f"`{words}`: expected {expected}, found {value(answer)}")
    print(f"{len(made)} number phrases, {wrong} wrong")
    sys.exit(wrong > 0)


main()
