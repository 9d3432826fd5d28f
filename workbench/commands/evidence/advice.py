"""What to do next, as it is told."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from workbench.model.history import Json


@dataclass(frozen=True)
class NextStep:
    """What to do next; title and reason name their values in braces, so that they can be translated whole.

    Attributes:
        title: what to do, in few words.
        word: the command that does it; empty where there is nothing to do but wait.
        reason: why, as a sentence.
        values: what goes into the braces.
        typed: what is typed for it, where the command alone does not tell.
        danger: whether the reason tells of what could destroy an engine.
        objections: names of all that approving would meet now; empty where that was not looked for.
    """

    title: str
    word: str
    reason: str
    values: Mapping[str, str] = field(default_factory=dict)
    typed: str = ""
    danger: bool = False
    objections: tuple[str, ...] = ()

    @property
    def line(self) -> str:
        """Title and reason in one line, and what is to be typed."""
        told = f"Next: {self.title.format(**self.values)}. {self.reason.format(**self.values)}"
        return f"{told} Type: {self.typed}" if self.typed else told

    @property
    def json(self) -> dict[str, Json]:
        """The same for a program."""
        title, reason = (text.format(**self.values) for text in (self.title, self.reason))
        typed: dict[str, Json] = {"typed": self.typed} if self.typed else {}
        return {"title": title, "command": self.word, "reason": reason, **typed}
