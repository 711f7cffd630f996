#!/usr/bin/env python3
"""Number phrases with their values, from the PyPI library num2words 0.5.14.

Writes lines `value,phrase` to standard output: integers up to 1000000 and decimals with one to
four places. The same count always gives the same lines.

    pip install num2words==0.5.14
    scripts/reference/number_phrases.py 100000 > number_phrases.csv
    READBACK_NUMBER_PHRASES=number_phrases.csv cargo test --test number_phrases
"""

import random
import sys
from decimal import Decimal

from num2words import num2words

EDGES = [0, 10, 11, 19, 20, 99, 100, 101, 110, 999, 1000, 1001, 1010, 1100, 9999, 10000, 10001,
         99999, 100000, 100001, 110000, 999999, 1000000]


def values(count):
    """Edges, then integers of every length, then decimals of every resolution."""
    chance = random.Random(20250101)
    for edge in EDGES[:count]:
        yield Decimal(edge)
    for number in range(len(EDGES), count):
        if number % 5 < 3:
            yield Decimal(chance.randrange(10 ** chance.randint(1, 6)))
        else:
            places = chance.randint(1, 4)
            digits = chance.randrange(10 ** (places + chance.randint(0, 4)))
            # The library does not say trailing zeros.
            yield Decimal(digits + (digits % 10 == 0)).scaleb(-places)


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100000
    for value in values(count):
        print(f"{value:f},{num2words(value)}")


if __name__ == "__main__":
    main()
