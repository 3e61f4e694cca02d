"""What a service says when it refuses: the kind of refusal and the fields that are wrong (RFC 9457 at the door)."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True)
class FieldProblem:
    """One wrong field: a JSON pointer into what was sent, and what is wrong with it."""

    pointer: str
    detail: str


class Refusal(Exception):
    """Base: nothing was changed. `status` is the HTTP status that says the same."""

    status: ClassVar[int] = 400
    kind: ClassVar[str] = "refused"
    title: ClassVar[str] = "The request was refused"

    def __init__(self, detail: str, errors: Iterable[FieldProblem] = ()) -> None:
        super().__init__(detail)
        self.detail = detail
        self.errors = tuple(errors)


class Invalid(Refusal):
    """What was sent breaks a rule."""

    kind = "invalid"
    title = "What was sent breaks a rule"

    @classmethod
    def field(cls, pointer: str, detail: str) -> "Invalid":
        """One wrong field."""
        return cls(f"{pointer.lstrip('#/') or 'body'}: {detail}", [FieldProblem(pointer, detail)])

    @classmethod
    def fields(cls, errors: Iterable[FieldProblem]) -> "Invalid":
        """Several wrong fields."""
        found = tuple(errors)
        first = found[0]
        more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
        return cls(f"{first.pointer.lstrip('#/')}: {first.detail}{more}", found)


class NotAllowed(Refusal):
    """This person may not do this."""

    status = 403
    kind = "not-allowed"
    title = "You may not do this"


class Missing(Refusal):
    """There is no such thing, or it is not this person's to see."""

    status = 404
    kind = "not-found"
    title = "Not found"


class Conflict(Refusal):
    """It contradicts what is recorded already."""

    status = 409
    kind = "conflict"
    title = "This contradicts what is recorded"


class Stale(Refusal):
    """It was changed by someone else since it was read."""

    status = 412
    kind = "stale"
    title = "It was changed since you read it"
