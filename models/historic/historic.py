"""What a case says of historic material in its action."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Historic:
    """Historic material of an action.

    Attributes
    ----------
    made : str
        When and by whom, in words; empty where nothing is said.
    parts : tuple of str
        Names of parts of the train that are historic; empty of the whole action.
    keep : tuple of str
        What must stay as it is, in words.
    remark : str
    decides : str
        Who decides what is done to it; empty where nobody is named.
    """

    made: str = ""
    parts: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    remark: str = ""
    decides: str = ""

    def covers(self, part: str) -> bool:
        """Whether a part is historic; of the whole action every one is."""
        return not self.parts or not part or part in self.parts

    @property
    def who(self) -> str:
        """Who decides, in words."""
        return self.decides or "who is responsible for the instrument"

    def told(self) -> str:
        """All of it in one line."""
        what = ", ".join(self.parts) if self.parts else "the whole action"
        said = [f"Historic: {what}{f', {self.made}' if self.made else ''}"]
        said += [f"must stay: {', '.join(self.keep)}"] if self.keep else []
        said += [f"decided by {self.who}"]
        said += [self.remark] if self.remark else []
        return "; ".join(said)
