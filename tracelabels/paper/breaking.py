"""Text broken into lines that fit a width, and what is set for a character that the face does not have."""

from tracelabels.lengths import Points
from tracelabels.paper.faces import Face, missing_characters, text_width


def wrapped(text: str, face: Face, size: Points, width: float) -> list[str]:
    """Break a text at spaces into lines of a width in millimetres; a longer word is broken where it must.

    >>> wrapped("the plateau of the load", Face.REGULAR, Points(9.0), 20.0)
    ['the plateau', 'of the load']
    """
    lines, line = [], ""
    for word in shown(text).split():
        tried = f"{line} {word}".strip()
        if text_width(tried, face, size) <= width:
            line = tried
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, face, size) > width and len(line) > 1:
            cut = next(n for n in range(len(line) - 1, 0, -1) if n == 1 or text_width(line[:n], face, size) <= width)
            lines.append(line[:cut])
            line = line[cut:]
    return [*lines, line]


def shown(text: str) -> str:
    """Return a text that the face can show; what it lacks is named by its number, never dropped.

    >>> shown("Rose ✿")
    'Rose U+273F'
    """
    for character in missing_characters(text):
        text = text.replace(character, f"U+{ord(character):04X}")
    return text
