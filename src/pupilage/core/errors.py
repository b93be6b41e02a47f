"""The one tree of errors. A message is a full sentence: what is wrong, what was given, what to do."""

from collections.abc import Iterable

from pupilage.core.words import Figure, Sentence


class Problem:
    """One thing wrong with what was given: the field it stands in, and a sentence that says what to do."""

    def __init__(self, where: str, template: str, **figures: Figure) -> None:
        self.where = where
        self.sentence = Sentence(template, figures, days_as_typed=True)

    def __str__(self) -> str:
        return f"{self.where}: {self.sentence}" if self.where else str(self.sentence)

    def __repr__(self) -> str:
        return f"Problem({str(self)!r})"


class PupilageError(Exception):
    """Anything Pupilage refuses or cannot do; each front end maps every kind once, by its `code`."""

    code = "error"

    def __init__(self, template: str, **figures: Figure) -> None:
        self.sentence = Sentence(template, figures, days_as_typed=True)
        super().__init__(str(self.sentence))


class InvalidInput(PupilageError):
    """What was given cannot be used. Carries all problems at once."""

    code = "invalid"

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("{problems}", problems="\n".join(str(problem) for problem in self.problems))

    @classmethod
    def of(cls, where: str, template: str, **figures: Figure) -> "InvalidInput":
        """Return the error for a single problem."""
        return cls([Problem(where, template, **figures)])


class NotFound(PupilageError):
    """There is no such thing, or it belongs to another workspace: the two are not told apart."""

    code = "not-found"


class Forbidden(PupilageError):
    """The person is known and may read, but may not do this."""

    code = "forbidden"


class Conflict(PupilageError):
    """What was asked does not fit what is already recorded."""

    code = "conflict"


class StorageTrouble(PupilageError):
    """The disk, the folder or the database file will not do what is asked."""

    code = "storage"


class NotEnoughYet(PupilageError):
    """The data cannot carry the number asked for."""

    code = "not-enough"

    def __init__(self, what: str, have: int, need: int) -> None:
        super().__init__("Not enough yet for {what}: have {have}, need {need}.", what=what, have=have, need=need)
        self.have = have
        self.need = need
