"""What the simulated trials found, in words: one sentence, and findings with what would mend them."""

from typing import TYPE_CHECKING, Final

from tracelabels.legibility.findings import Finding, Legibility

if TYPE_CHECKING:
    from tracelabels.legibility.joint import Joint
    from tracelabels.legibility.margins import Margin
    from tracelabels.lengths import Mm

SOURCE: Final = "the practice's envelope; simulated trials, common practice, no source"
_FIX: Final = {
    "px_per_mm": "take a larger module, or photograph from nearer",
    "off_axis": "take a symbol that is narrower round the tube, with its long side along it",
    "tilt": "take a rectangle along the tube instead of a square, or hold the phone square to the tube",
    "turn": "hold the phone in line with the label",
    "defocus": "take a larger module, or photograph from where the phone can focus",
    "motion": "take a larger module, or more light, and rest the hand",
    "glare": "take matte stock, or turn the label out of the lamp's reflection",
    "light_ratio": "light the label evenly",
    "shadow": "keep hand and phone out of the light",
    "noise": "use more light",
    "jpeg_quality": "let the camera compress less",
    "dot_gain": "print cooler or slower, or take a larger module",
    "lost_dots": "clean the print head, print hotter, or take a larger module",
    "specks": "clean the printer, or take a larger module",
    "dead_lines": "replace the print head; a Data Matrix does not survive a missing line",
    "wrinkle": "set the ribbon's tension",
    "stock": "take stock that stays white in the steriliser",
    "ink": "take a ribbon or toner that keeps its black in the steriliser",
    "blotches": "take stock and adhesive that withstand steam",
    "buckle": "stick the label where the pouch lies flat",
}
_HEADLINE: Final = ("px_per_mm", "off_axis", "glare")


def in_words(value: float, unit: str) -> str:
    """Return a value with its unit; shares in percent."""
    if unit == "share":
        return f"{100.0 * value:.3g} %"
    return f"{value:.3g} {unit}"


def sentence_of(margins: "tuple[Margin, ...]", *, x: "Mm") -> str:
    """Return the one line that says how far a label reads and what is weakest.

    Args:
        margins: what was found.
        x: the width of a module, to say pixels per module instead of pixels per mm.
    """
    weakest = find_weakest(margins)
    if not all(margin.reads_as_usual for margin in margins):
        return f"does not read as usual; {_cure(weakest)}"
    found = {margin.factor: margin for margin in margins}
    parts = [_headline(found[name].reads_to, name, x) for name in _HEADLINE if name in found]
    named = f"; weakest: {weakest.title}" if weakest is not None else ""
    return f"reads to {', '.join(parts)}{named}" if parts else f"no headline margin sought{named}"


def find_weakest(margins: "tuple[Margin, ...]") -> "Margin | None":
    """Return the margin with the least room beyond the envelope; None if none was found.

    Of a label that does not read as usual: the factor that has to improve least to make it read.
    """
    bounded = [margin for margin in margins if margin.room is not None]
    pick = min if all(margin.reads_as_usual for margin in margins) else max
    return pick(bounded, key=lambda margin: margin.room or 0.0, default=None)


def _cure(nearest: "Margin | None") -> str:
    if nearest is None or nearest.reads_to is None:
        return "no factor alone would mend it"
    return f"would read with {nearest.title} at {in_words(nearest.reads_to, nearest.unit)}"


def _headline(reads_to: float | None, name: str, x: "Mm") -> str:
    value = 0.0 if reads_to is None else reads_to
    if name == "px_per_mm":
        return f"{value * x:.1f} px per module"
    return f"{value:.3g} degrees round the tube" if name == "off_axis" else f"{100.0 * value:.3g} % glare"


def findings_of(
    verdict: Legibility, plain: "Joint", strained: "Joint", margins: "tuple[Margin, ...]"
) -> tuple[Finding, ...]:
    """Return a finding for the samples, and one for each factor that fails inside the envelope."""
    weakest = find_weakest(margins)
    fix = "" if verdict is Legibility.PASS or weakest is None else _FIX[weakest.factor]
    short = [margin for margin in margins if margin.room is not None and margin.room < 0.0]
    return (_sampled(verdict, plain, strained, fix), *(_short(margin) for margin in short))


def _sampled(verdict: Legibility, plain: "Joint", strained: "Joint", fix: str) -> Finding:
    wrong = plain.wrong + strained.wrong
    return Finding(
        rule="simulated_envelope",
        verdict=verdict,
        measured=(
            f"simulated: {plain.read} of {plain.trials} read within the envelope (95 % interval "
            f"{100 * plain.low:.0f} to {100 * plain.high:.0f} %), "
            f"{strained.read} of {strained.trials} a little beyond it"
            + (f", {wrong} said another text" if wrong else "")
        ),
        required="so few unread that 1 % of all is likelier than 3 %, no wrong text",
        source=SOURCE,
        fix=fix,
    )


def _short(margin: "Margin") -> Finding:
    reads_to = margin.nominal if margin.reads_to is None else margin.reads_to
    return Finding(
        rule=f"margin_{margin.factor}",
        verdict=Legibility.WARN,
        measured=f"simulated: {margin.title} reads to {in_words(reads_to, margin.unit)}",
        required=f"{in_words(margin.limit, margin.unit)} at least half of the time",
        source=SOURCE,
        fix=_FIX[margin.factor],
    )
