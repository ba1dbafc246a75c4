"""Watching a stream of frames: what a live viewfinder shows, with the work shared between frames.

Every frame gets the plain read. The deeper attempts are made now and then, on the sharpest of the last few frames, and
only for what the plain reads leave open. What was read is followed from frame to frame and not read deeply again while
it is still there. Nothing is drawn, no thread is started, and the time comes with each frame.

Modules, from the bottom up:
    frames: one frame with its time, and the last few of them.
    pace: how often and how long, as one value.
    glance: what one frame adds up to.
    whole_frame: whether a whole frame is blurred or washed out.
    likeness: whether a place still looks as it did when it was read.
    quick_look: the plain read of one frame within its budget.
    deep_look: the deeper attempts on one frame.
    following: places from frame to frame; what is announced, disputed, dropped.
    viewfinder: the order of steps.
"""

from tracelabels.scanning.watching.frames import Frame
from tracelabels.scanning.watching.glance import Glance, Sighting
from tracelabels.scanning.watching.pace import Pace
from tracelabels.scanning.watching.viewfinder import Viewfinder

__all__ = ["Frame", "Glance", "Pace", "Sighting", "Viewfinder"]
