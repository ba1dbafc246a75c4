"""How often and how long a stream is looked at."""

from dataclasses import dataclass

from tracelabels.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """The viewfinder's pace; common practice, no source, but for what is said beside a value."""

    plain_budget_ms: float = 60.0
    """For the plain read of one frame: a frame that would take longer is read at a half to a quarter of its size."""

    deep_budget_ms: float = 250.0
    """For the deeper attempts at one frame: none starts after it is spent."""

    patience: int = 3
    """Frames that plain reads leave open before a deeper look at the sharpest of them; also the most frames kept."""

    pause_s: float = 0.5
    """Seconds from one deeper look to the next, at least; more if looks are slow (they take a fifth of the time)."""

    settled_s: float = 1.5
    """Seconds from one search for further labels to the next, while everything that was found is read."""

    unseen_s: float = 0.8
    """Seconds after which what is not seen any more is dropped."""

    unread_s: float = 3.0
    """Seconds after which what still looks the same is dropped, unless it was read again: no text stands longer."""

    def __post_init__(self) -> None:
        """Refuse a pace at which nothing can be read or dropped."""
        for name in self.__dataclass_fields__:
            if not getattr(self, name) > 0:
                raise InputError(
                    given=f"a pace with {name} {getattr(self, name)}", expected="a value above 0", remedy="change it"
                )
        if self.unread_s < self.unseen_s:
            raise InputError(
                given=f"a pace that drops the unread after {self.unread_s} s and the unseen after {self.unseen_s} s",
                expected="unread ones no sooner than unseen ones",
                remedy="raise unread_s",
            )
