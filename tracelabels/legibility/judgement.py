"""Pass, warn or fail: whether a label will read within an envelope, from simulated photographs.

*Fail*: at most 88 % of the sample over the envelope read. *Pass*: of that sample and of the strained one, in which each
factor is somewhat worse, so few trials stayed unread that 1 % is likelier than 3 %; strained trials are added while
that is in doubt (:mod:`tracelabels.legibility.evidence`). *Warn*: in between. Any wrong text rules out a pass. Rule and
safeties were tuned on simulated labels and tried on others against a second simulator; nothing was compared with a real
printer and camera.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

from tracelabels.legibility.envelope import envelope_at
from tracelabels.legibility.evidence import evidence, is_settled
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much a judgement tries."""

    plain: int
    """Trials of the sample over the envelope."""
    strained: int
    """Trials of the strained sample at least."""
    most: int
    """Trials of the strained sample at most, while the answer is in doubt."""
    depth: Depth
    """How finely margins are sought."""
    factors: frozenset[str] | None
    """Whose margins are sought; None for all."""


THOROUGH = Effort(plain=160, strained=80, most=240, depth=FULL, factors=None)
HASTY = Effort(plain=40, strained=40, most=120, depth=QUICK, factors=QUICK_FACTORS)
"""Six of the factors, half the seeds, a bracket four times as wide, fewer trials of both samples."""
POINT = Effort(plain=16, strained=0, most=240, depth=QUICK, factors=frozenset())
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
    times as wide, and takes 40 and 40 to 120 trials instead of 160 and 80 to 240: it misses what is rare and says less
    about why.

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
    further = [_batch(strained_trial, specimen, envelope, seed, part) for part in _parts(effort.most, effort.strained)]
    told = _Told(progress, len(searches) + len(plain) + len(strained) + 1)
    with ThreadPoolExecutor(_WORKERS) as pool:
        margins = tuple(told.of(pool.map(_done, searches)))
        outcomes = joint_of([one for part in told.of(pool.map(_done, plain)) for one in part])
        first = [one for part in told.of(pool.map(_done, strained)) for one in part]
        under_strain = _until_settled(pool, outcomes, first, further)
    told.tell()
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
    label of which 0.5 % of all trials stay unread passes 99 times of 100, one with 1 % 88 times, one with 3 % 14 times.
    """
    specimen, envelope = specimen_of(subject), envelope_at(condition)
    plain = joint_of([plain_trial(specimen, envelope, seed, number) for number in range(POINT.plain)])
    strained: list[Outcome] = []
    while len(strained) < POINT.most and _is_open(plain, strained):
        strained.append(strained_trial(specimen, envelope, seed, len(strained)))
    return verdict_of(plain, joint_of(strained)) if strained else verdict_of(plain)


def verdict_of(plain: Joint, strained: Joint | None = None) -> Legibility:
    """Return the verdict of the sample over the envelope and, if there is one, of the strained one."""
    if plain.share <= FAIL_SHARE:
        return Legibility.FAIL
    joints = [plain] if strained is None else [plain, strained]
    trials = sum(joint.trials for joint in joints)
    misses = trials - sum(joint.read for joint in joints)
    is_good = evidence(misses, trials) <= 0.0 and not any(joint.wrong for joint in joints)
    return Legibility.PASS if is_good else Legibility.WARN


def _is_open(plain: Joint, strained: list[Outcome]) -> bool:
    """Say whether further strained trials may change the verdict and are needed to be sure of it."""
    if plain.share <= FAIL_SHARE or plain.wrong or Outcome.WRONG in strained:
        return False
    trials = plain.trials + len(strained)
    return not is_settled(trials - plain.read - strained.count(Outcome.READ), trials)


def _until_settled(
    pool: ThreadPoolExecutor, plain: Joint, strained: list[Outcome], parts: list[Callable[[], list[Outcome]]]
) -> Joint:
    """Return the strained sample after as many further parts of it as the answer needs."""
    while parts and _is_open(plain, strained):
        now, parts = parts[:_WORKERS], parts[_WORKERS:]
        strained = [*strained, *(one for part in pool.map(_done, now) for one in part)]
    return joint_of(strained)


def worst_picture(subject: "Subject", envelope: "Envelope", seed: int) -> "NDArray[np.uint8]":
    """Return the symbol, grey, as the camera would see it with every factor at its limit at once; simulated."""
    return photograph_symbol(specimen_of(subject), envelope.limit, chance(seed, _WORST))


def _is_tried(factor: "Factor", specimen: Specimen, effort: Effort) -> bool:
    """A film's waves are for flat labels; the rest is tried on all, a quick effort leaves some out."""
    if factor.name == "buckle" and specimen.tube_diameter is not None:
        return False
    return effort.factors is None or factor.name in effort.factors


def _parts(count: int, start: int = 0) -> list[range]:
    return [range(first, min(first + _BATCH, count)) for first in range(start, count, _BATCH)]


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
            self.tell()
            yield result

    def tell(self) -> None:
        self._count += 1
        if self._progress is not None:
            self._progress(self._count, self._total)
