"""One label of the trial of honesty: what was predicted, and what a second simulator then finds."""

from dataclasses import dataclass

import numpy as np
from random_labels import random_condition, random_subject
from second_camera import photograph

from tracelabels.legibility.findings import Legibility
from tracelabels.legibility.judgement import predict
from tracelabels.symbols import read_symbols

SEEDS, ALL_SEEDS = 20, 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A label, what was predicted and what came of it."""

    number: int
    kind: str
    predicted: Legibility
    read: tuple[bool, ...]
    """20 photographs; up to 100 while no more than one of them stays unread."""
    wrong: int

    @property
    def share(self):
        return sum(self.read[:SEEDS]) / SEEDS

    @property
    def is_marginal(self):
        return 0.2 <= self.share <= 0.8

    @property
    def truly_reads(self):
        return sum(self.read) >= 0.99 * ALL_SEEDS


def try_label(job):
    """Return what came of one label; job is (the trial's seed, the label's number)."""
    seed, number = job
    rng = np.random.default_rng([seed, number])
    subject, condition = random_subject(rng), random_condition(rng)
    predicted = predict(subject, condition, seed=1000 * seed + number)
    read, wrong = [], 0
    while len(read) < SEEDS or (len(read) < ALL_SEEDS and len(read) - sum(read) <= 1):
        # The judge's seeds have nothing in common with those of the prediction.
        picture = photograph(subject, condition, np.random.default_rng([seed, number, 77, len(read)]))
        texts = {found.text for found in read_symbols(picture, kinds=frozenset({subject.code.symbology}))}
        read.append(texts == {subject.code.text})
        wrong += bool(texts - {subject.code.text})
    kind = subject.code.symbology.value
    return Tried(number=number, kind=kind, predicted=predicted, read=tuple(read), wrong=wrong)
