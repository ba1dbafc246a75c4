"""The demonstration's recalls: a spore test that grew, and a maker's batch that is called back."""

from collections.abc import Iterator

from tracelabels.custody import RecallStep, SporeResult
from tracelabels.words import in_words
from tracelabels.workflows import recall as recalls
from tracelabels.workflows.demonstration_chair import PROTECTED
from tracelabels.workflows.demonstration_days import CHARGE
from tracelabels.workflows.demonstration_step import Step
from tracelabels.workflows.leave_picture import leave_picture
from tracelabels.workflows.practice import PRINTED, Practice
from tracelabels.workflows.recall import Standing, start_recall, take_step
from tracelabels.workflows.record_spore_test import read_spore_test
from tracelabels.workflows.trace import trace


def grown(practice: Practice, number: str) -> Iterator[Step]:
    """Read a spore test that grew, and recall what it reaches."""
    read = read_spore_test(practice, number, SporeResult.GROWTH, by=CHARGE)
    interval = read.interval
    held = ", ".join(map(str, read.hold.items)) if read.hold else "nothing"
    yield Step(
        heading=f"Spore test {number} has grown",
        outcome=(
            f"affected: after {interval.after.name}, until {interval.before.name}" if interval else "affected: nothing",
            f"kept back at once: {held}",
        ),
    )
    standing = start_recall(practice, f"bi:{number}", reason="spore test grew", by=CHARGE)
    yield Step(heading=f"What it reaches is recalled: {standing.recall.number}", outcome=tuple(_lines(standing)))


def batch(practice: Practice, maker: str, number: str) -> Iterator[Step]:
    """Recall a maker's batch: every client is listed, with proof that the list is complete."""
    standing = start_recall(practice, f"lot:{maker}/{number}", reason="the maker calls the batch back", by=CHARGE)
    picture = practice.folder / PRINTED / f"{standing.recall.number}.pdf"
    leave_picture(standing.trace, picture)
    yield Step(
        heading=f"{maker} calls batch {number} back: recall {standing.recall.number}",
        outcome=tuple(_lines(standing)),
        files=(picture,),
    )
    reached = recalls.Step(step=RecallStep.CLIENT_REACHED, client=PROTECTED)
    done = take_step(practice, standing.recall.number, reached, by=CHARGE)
    yield Step(
        heading=f"{PROTECTED} is reached; the others are still to be reached before the recall can be closed",
        outcome=tuple(f"open: {reason}" for reason in done.standing.reasons),
    )


def chain_of(practice: Practice, client: str) -> Step:
    """Draw everything that was used on one client, for an inspector."""
    picture = practice.folder / PRINTED / f"{client}.pdf"
    leave_picture(trace(practice, f"client:{client}"), picture)
    return Step(
        heading=f"An inspector asks what was used on {client}: the chain on one page", outcome=(), files=(picture,)
    )


def _lines(standing: Standing) -> Iterator[str]:
    counts = standing.trace.completeness
    yield "clients: " + (", ".join(name.text for name in standing.trace.clients) or "none")
    yield "items: " + ", ".join(f"{count} {in_words(fate)}" for fate, count in standing.trace.fates.items())
    agree = "agree" if counts.holds else "DO NOT AGREE"
    again = f"{counts.items_counted} and {counts.clients_counted}"
    yield f"listed {counts.items} items and {counts.clients} clients, counted in another way {again}: they {agree}"
