"""The kinds of problem this service answers with: status, title and what to do about each (RFC 9457 `type`)."""

from dataclasses import dataclass
from typing import Final

from inventory.problems import Refusal

PREFIX: Final = "/problems/"


@dataclass(frozen=True)
class Kind:
    """One kind of problem; `advice` is for the person who writes the client."""

    status: int
    title: str
    advice: str


KINDS: Final[dict[str, Kind]] = {
    "invalid": Kind(400, "What was sent breaks a rule", "Correct the fields named in `errors` and send again."),
    "refused": Kind(400, "The request was refused", "Read `detail`; nothing was changed."),
    "unreadable": Kind(400, "The body cannot be read", "Send well-formed JSON in UTF-8 with finite numbers."),
    "not-signed-in": Kind(401, "Sign in first", "Send `Authorization: Bearer <token>` with a valid token."),
    "not-allowed": Kind(403, "You may not do this", "Ask the forester for a role that may."),
    "not-found": Kind(404, "Not found", "Check the address; it may also be something you may not see."),
    "method": Kind(405, "This address does not know that method", "Use one of the methods in `Allow`."),
    "not-acceptable": Kind(406, "No such representation", "Accept one of the media types documented."),
    "conflict": Kind(409, "This contradicts what is recorded", "Read what is recorded and decide anew."),
    "in-progress": Kind(409, "The first request is still running", "Send the same request again after a moment."),
    "stale": Kind(412, "It was changed since you read it", "Read it again and repeat the change on what you see."),
    "too-large": Kind(413, "Too large", "Send less at once."),
    "media-type": Kind(415, "This media type is not read here", "Use a documented Content-Type."),
    "key-reused": Kind(422, "This Idempotency-Key was used for something else", "Make a new key for each request."),
    "precondition-required": Kind(428, "If-Match is required", "Send the ETag that you read as If-Match."),
    "too-many": Kind(429, "Too many requests", "Wait as long as `Retry-After` says."),
    "failed": Kind(500, "The service failed", "Nothing was changed. Report the `request_id`."),
    "unavailable": Kind(503, "Not available just now", "Try again after `Retry-After` seconds."),
}


class Unreadable(Refusal):
    """The body is not what its Content-Type says."""

    kind = "unreadable"
    title = KINDS["unreadable"].title


class NotSignedIn(Refusal):
    """Who asks is not known."""

    status = 401
    kind = "not-signed-in"
    title = KINDS["not-signed-in"].title


class InProgress(Refusal):
    """The first request with this key has not ended yet."""

    status = 409
    kind = "in-progress"
    title = KINDS["in-progress"].title


class TooLarge(Refusal):
    """More than is taken at once."""

    status = 413
    kind = "too-large"
    title = KINDS["too-large"].title


class KeyReused(Refusal):
    """The key belongs to another request."""

    status = 422
    kind = "key-reused"
    title = KINDS["key-reused"].title


class PreconditionRequired(Refusal):
    """The change must say which version it is made to."""

    status = 428
    kind = "precondition-required"
    title = KINDS["precondition-required"].title


class TooMany(Refusal):
    """Someone asks faster than the limits allow."""

    status = 429
    kind = "too-many"
    title = KINDS["too-many"].title


class Unavailable(Refusal):
    """Something that the answer needs is away for the moment."""

    status = 503
    kind = "unavailable"
    title = KINDS["unavailable"].title
