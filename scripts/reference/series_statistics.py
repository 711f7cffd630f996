#!/usr/bin/env python3
"""Makes tests/reference/series_statistics.csv: series with their statistics, computed by others.

    pip install "scipy==1.17.1" "pymannkendall==1.4.3"
    scripts/reference/series_statistics.py > tests/reference/series_statistics.csv

median, mad     scipy.stats (median_abs_deviation with scale 1)
sen, low, high  scipy.stats.theilslopes at 95 %
s, var, z       pymannkendall.original_test
p               up to ten values: without ties scipy.stats.kendalltau(method="exact"); with ties the
                share of all orders of the values whose S is at least as far from 0, counted one by
                one; above ten values pymannkendall.original_test
vnr             the ratio of sums from its definition, with numpy
"""

import itertools
import random

import numpy
import pymannkendall
from scipy import stats

T8 = [0, 10, 25, 40, 60, 75, 95, 120]

PUBLISHED = {
    "hand-example-14": (
        list(range(14)),
        [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7],
    ),
    "one-wild-of-7": (list(range(7)), [10, 11, 12, 13, 40, 15, 16]),
    "one-wild-of-6": (list(range(6)), [10.1, 10.0, 9.9, 10.2, 10.0, 14.8]),
    "settled": (T8, [20, 35, 41, 42.6, 43.1, 43, 43.1, 43]),
    "unsteady": (T8, [50, 58, 49, 59, 48, 57, 50, 58]),
    "drift-down": (T8, [62, 61.2, 60.9, 59.8, 59.1, 58.7, 57.6, 56.9]),
    "drift-up": (T8, [2, 2.3, 2.9, 3, 3.6, 3.9, 4.3, 4.9]),
    "peak-settle": (T8, [0.4, 31, 18, 9.5, 6.3, 6.1, 6.2, 6.1]),
    "flat-zero": (T8, [0, 0.02, 0, 0.01, 0, 0, 0.01, 0]),
}


def random_series():
    source = random.Random(20261125)
    for count in [4, 5, 6, 7, 8, 9, 10, 11, 15, 20, 30]:
        for kind in ["plain", "ties"]:
            if kind == "ties" and count in (9, 10):
                continue  # too many orders to count one by one
            steps = [source.choice([2, 3, 5, 7.5]) for _ in range(count)]
            times = [round(sum(steps[: i + 1]), 1) for i in range(count)]
            if kind == "plain":
                values = source.sample(range(100, 900), count)
            else:
                values = [source.choice([200, 201, 202, 203]) for _ in range(count)]
            yield f"{kind}-{count}", (times, values)


def score(values):
    return sum(
        (late > early) - (late < early) for early, late in itertools.combinations(values, 2)
    )


def exact_p(values):
    """Every order counted; ties are conditioned on."""
    far = abs(score(values))
    orders = [abs(score(order)) >= far for order in itertools.permutations(values)]
    return sum(orders) / len(orders)


def probability(values, mk):
    if len(values) > 10:
        return mk.p
    if len(set(values)) == len(values):
        return stats.kendalltau(range(len(values)), values, method="exact").pvalue
    return exact_p(values)


def row(name, times, values):
    x = numpy.array(values, dtype=float)
    slope = stats.theilslopes(x, times, 0.95)
    mk = pymannkendall.original_test(x)
    deviations = ((x - x.mean()) ** 2).sum()
    vnr = (numpy.diff(x) ** 2).sum() / deviations
    figures = [
        numpy.median(x),
        stats.median_abs_deviation(x),
        slope.slope,
        slope.low_slope,
        slope.high_slope,
        mk.s,
        mk.var_s,
        mk.z,
        probability(values, mk),
        vnr,
    ]
    texts = [" ".join(map(str, times)), " ".join(map(str, values))]
    return ",".join([name, *texts, *(repr(float(figure)) for figure in figures)])


print("name,t_s,value,median,mad,sen,low,high,s,var,z,p,vnr")
for name, (times, values) in itertools.chain(PUBLISHED.items(), random_series()):
    print(row(name, times, values))
