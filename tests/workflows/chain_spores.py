"""What spore tests say of a load, by brute force over the model.

Written apart from the package's rules, from CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities
(2008), Table 12 (steam: nothing after the last pass is used, three consecutive passes before return, *confirm first* by
three repeat cycles), and California HSC 119315 (a new test after installation and repair).
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from chain_model import ALoad, ATest, Model, Process

from tracelabels.custody import SporeResult


@dataclass(frozen=True, kw_only=True)
class Spores:
    """All spore tests that are on record."""

    model: Model

    def tests(self, process: Process, *results: SporeResult | None) -> list[ATest]:
        """Return the tests of one steriliser and cycle kind: no other says anything of it."""
        same = [one for one in self.model.tests.values() if one.process == process and one.result in results]
        return sorted(same, key=lambda one: (one.at, one.number))

    def grown(self, process: Process) -> list[ATest]:
        return self.tests(process, SporeResult.GROWTH)

    def passes(self, process: Process) -> list[ATest]:
        """Return the passed tests of a process that vouch for anything: no other test in their load grew."""
        grown = {one.load for one in self.grown(process)}
        return [one for one in self.tests(process, SporeResult.NO_GROWTH) if one.load not in grown]

    def third_pass(self, process: Process, after: datetime, *, known_at: datetime | None = None) -> datetime | None:
        """Return when the third of three passed loads in a row began, with no other result between them.

        Args:
            process: of which steriliser and cycle kind.
            after: when the first may begin.
            known_at: only what had run, and was read, by then counts; None for what is known today.
        """
        row: list[ATest] = []
        for test in self.tests(process, *SporeResult, None):
            if known_at is not None and (not test.readings or test.readings[-1][1] > known_at):
                row = row if test.at > known_at else []
            elif test.at > after:
                row = [*row, test] if test.result is SporeResult.NO_GROWTH else []
                if len({one.load for one in row}) == 3:
                    return test.at
        return None

    def is_reached(self, load: ALoad, growth: ATest) -> bool:
        """Say whether a growth reaches a load: after the last pass before it, until a return that three passes bear."""
        if growth.load == load.number:
            return True
        if load.process != growth.process:
            return False
        before = [one for one in self.passes(load.process) if one.at < growth.at]
        if before and (load.at < before[-1].at or load.number == before[-1].load):
            return False
        for at, process in sorted(self.model.returned):
            if process == load.process and at > growth.at:
                grown = [one.at for one in self.grown(process) if one.at < at]
                third = self.third_pass(process, max(grown))
                if third is not None:
                    return load.at < max(at, third)
        return True

    def _is_cleared(self, load: ALoad, growth: ATest) -> bool:
        """*Confirm first*: three repeat cycles passed, nothing was repaired and nothing else grew meanwhile."""
        third = self.third_pass(load.process, growth.at)
        if third is None:
            return False
        others = [one for one in self.grown(load.process) if one.number != growth.number]
        again = any(growth.at <= one.at <= third for one in others)
        return not again and not any(growth.at < at <= third for at in self.repairs(load.steriliser))

    def repairs(self, steriliser: str) -> list[datetime]:
        return [at for at, which in self.model.repaired if which == steriliser]

    def said_of(self, load: ALoad, *, is_protected: bool) -> str:
        """Return ``failed``, ``incubating``, ``missing`` or ``passed``; ``rode`` for a pass in this very load."""
        for growth in self.grown(load.process):
            waits = self.model.rules.is_strict or is_protected or not self._is_cleared(load, growth)
            if self.is_reached(load, growth) and (waits or growth.load == load.number):
                return "failed"
        riding = [one.result for one in self.model.tests.values() if one.load == load.number]
        if None in riding:
            return "incubating"
        return "rode" if SporeResult.NO_GROWTH in riding else self._around(load)

    def _around(self, load: ALoad) -> str:
        """Judge a load without a test of its own by the tests before and after it."""
        changes = [self.model.installed[load.steriliser], *self.repairs(load.steriliser)]
        passes, waiting = self.passes(load.process), self.tests(load.process, None)
        before = [one.at for one in passes if one.at < load.at]
        if not before or before[-1] < max(at for at in changes if at <= load.at):
            return "missing"
        after = [one.at for one in passes if one.at > load.at]
        if after and not any(before[-1] < at < after[0] for at in changes):
            return "passed"
        if load.at.date() <= before[-1].date() + timedelta(days=self.model.rules.interval_days):
            return "passed"
        return "incubating" if any(one.at > before[-1] for one in waiting) else "missing"
