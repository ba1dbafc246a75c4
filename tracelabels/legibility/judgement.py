"""Pass, warn or fail: whether a label will read within an envelope, from simulated photographs.

*Pass*: of the trials over the envelope and of the strained ones, in which each factor is somewhat worse, no more than
1 % stayed unread (one, if there were fewer than 200). *Fail*: at most 88 % of the sample over the envelope read.
*Warn*: in between. Any wrong text rules out a pass. Rule and safeties were tuned on simulated labels and tried on
others against a second simulator; nothing was compared with a real printer and camera.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

from tracelabels.legibility.envelope import envelope_at
from tracelabels.legibility.findings import Legibility
from tracelabels.legibility.joint import Joint, joint_of, plain_trial, strained_trial
from tracelabels.legibility.margins import FULL, QUICK, Depth, Margin, find_margin
from tracelabels.legibility.snapshot import photograph_symbol
from tracelabels.legibility.specimen import Specimen, specimen_of
from tracelabels.legibility.trial import Outcome, chance
from tracelabels.legibility.wording import findings_of, sentence_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from tracelabels.legibility.condition import Condition, Factor
    from tracelabels.legibility.envelope import Envelope, Span
    from tracelabels.legibility.findings import Finding
    from tracelabels.legibility.subject import Subject

Progress = Callable[[int, int], None]
"""Called with how many steps are done and how many there are."""

QUICK_FACTORS = frozenset({"px_per_mm", "off_axis", "tilt", "defocus", "glare", "dot_gain"})
"""What a quick judgement seeks margins for."""
_WORKERS = 2
_BATCH = 8
_WORST = 9
R = TypeVar("R")

FAIL_SHARE: Final = 0.88
"""At most so large a share of the sample reads: fail."""
MISSED_SHARE: Final = 0.01
"""No more than so large a share of both samples stays unread, or a single trial: pass."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much a judgement tries."""

    plain: int
    """Trials of the sample over the envelope."""
    strained: int
    """Trials of the strained sample."""
    depth: Depth
    """How finely margins are sought."""
    factors: frozenset[str] | None
    """Whose margins are sought; None for all."""


THOROUGH = Effort(plain=160, strained=80, depth=FULL, factors=None)
HASTY = Effort(plain=40, strained=40, depth=QUICK, factors=QUICK_FACTORS)
"""Six of the factors, half the seeds, a bracket four times as wide, fewer trials of both samples."""
POINT = Effort(plain=16, strained=80, depth=QUICK, factors=frozenset())
"""For one condition, without margins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """How a label stands within an envelope; simulated."""

    verdict: Legibility
    """Pass, warn or fail."""
    findings: "tuple[Finding, ...]"
    """One for the samples, one for each factor that fails inside the envelope."""
    margins: tuple[Margin, ...]
    """For each factor tried, in the order of the factors."""
    joint: Joint
    """The sample over the envelope."""
    strained: Joint
    """The strained sample."""
    sentence: str
    """In one line: how far it reads, and what is weakest."""
    is_quick: bool
    """Whether only a part was tried: six factors, fewer trials."""


def judge(
    subject: "Subject", envelope: "Envelope", *, seed: int, quick: bool = False, progress: Progress | None = None
) -> Judgement:
    """Judge a label within an envelope; everything is simulated.

    A quick judgement seeks the margins of ``QUICK_FACTORS`` alone, with four seeds instead of eight and a bracket four
    times as wide, and takes 40 and 40 trials instead of 160 and 80: it misses what is rare and says less about why.

    Args:
        subject: the label.
        envelope: within what it shall read.
        seed: the same seed gives the same judgement.
        quick: try six factors only, with fewer trials.
        progress: is told how far the work is.
    """
    effort = HASTY if quick else THOROUGH
    specimen = specimen_of(subject)
    tried = [(factor, span) for factor, span in envelope.spans() if _is_tried(factor, specimen, effort)]
    searches = [_search(specimen, envelope.nominal, factor, span, effort.depth, seed) for factor, span in tried]
    plain = [_batch(plain_trial, specimen, envelope, seed, part) for part in _parts(effort.plain)]
    strained = [_batch(strained_trial, specimen, envelope, seed, part) for part in _parts(effort.strained)]
    told = _Told(progress, len(searches) + len(plain) + len(strained))
    with ThreadPoolExecutor(_WORKERS) as pool:
        margins = tuple(told.of(pool.map(_done, searches)))
        outcomes = joint_of([one for part in told.of(pool.map(_done, plain)) for one in part])
        under_strain = joint_of([one for part in told.of(pool.map(_done, strained)) for one in part])
    verdict = verdict_of(outcomes, under_strain)
    return Judgement(
        verdict=verdict,
        findings=findings_of(verdict, outcomes, under_strain, margins),
        margins=margins,
        joint=outcomes,
        strained=under_strain,
        sentence=sentence_of(margins, x=subject.x_dimension),
        is_quick=quick,
    )


def predict(subject: "Subject", condition: "Condition", *, seed: int) -> Legibility:
    """Say whether a label will read in photographs that are all taken under one condition.

    The rule of :func:`judge`, on the trials of ``POINT`` and without margins; stops as soon as the answer is certain. A
    label that reads 99.5 times of 100 gets that far nine times of ten, one that reads 95 times of 100 hardly ever.
    """
    specimen, envelope = specimen_of(subject), envelope_at(condition)
    plain = joint_of([plain_trial(specimen, envelope, seed, number) for number in range(POINT.plain)])
    if plain.share <= FAIL_SHARE:
        return Legibility.FAIL
    misses, forgiven = plain.trials - plain.read, _forgiven(POINT.plain + POINT.strained)
    if plain.wrong or misses > forgiven:
        return Legibility.WARN
    for number in range(POINT.strained):
        outcome = strained_trial(specimen, envelope, seed, number)
        misses += outcome is not Outcome.READ
        if outcome is Outcome.WRONG or misses > forgiven:
            return Legibility.WARN
    return Legibility.PASS


def verdict_of(plain: Joint, strained: Joint) -> Legibility:
    """Return the verdict of the two samples."""
    if plain.share <= FAIL_SHARE:
        return Legibility.FAIL
    trials = plain.trials + strained.trials
    misses = trials - plain.read - strained.read
    is_good = misses <= _forgiven(trials) and not plain.wrong and not strained.wrong
    return Legibility.PASS if is_good else Legibility.WARN


def _forgiven(trials: int) -> int:
    return max(1, int(MISSED_SHARE * trials))


def worst_picture(subject: "Subject", envelope: "Envelope", seed: int) -> "NDArray[np.uint8]":
    """Return the symbol, grey, as the camera would see it with every factor at its limit at once; simulated."""
    return photograph_symbol(specimen_of(subject), envelope.limit, chance(seed, _WORST))


def _is_tried(factor: "Factor", specimen: Specimen, effort: Effort) -> bool:
    """A film's waves are for flat labels; the rest is tried on all, a quick effort leaves some out."""
    if factor.name == "buckle" and specimen.tube_diameter is not None:
        return False
    return effort.factors is None or factor.name in effort.factors


def _parts(count: int) -> list[range]:
    return [range(first, min(first + _BATCH, count)) for first in range(0, count, _BATCH)]


def _search(
    specimen: Specimen, usual: "Condition", factor: "Factor", span: "Span", depth: Depth, seed: int
) -> Callable[[], Margin]:
    return lambda: find_margin(specimen, usual, factor, span, depth=depth, seed=seed)


def _batch(
    trial: Callable[[Specimen, "Envelope", int, int], Outcome],
    specimen: Specimen,
    envelope: "Envelope",
    seed: int,
    part: range,
) -> Callable[[], list[Outcome]]:
    return lambda: [trial(specimen, envelope, seed, number) for number in part]


def _done(work: Callable[[], R]) -> R:
    return work()


class _Told:
    """Tells how far the work is as results come in."""

    def __init__(self, progress: Progress | None, total: int) -> None:
        self._progress, self._total, self._count = progress, total, 0

    def of(self, results: Iterator[R]) -> Iterator[R]:
        for result in results:
            self._count += 1
            if self._progress is not None:
                self._progress(self._count, self._total)
            yield result
