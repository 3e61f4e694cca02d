"""The base of every REST view: strict query parameters, who asks, in which units."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.serializers import BaseSerializer
from rest_framework.views import APIView

from api.http import params, requests
from api.http.params import Param
from api.http.parsers import MergePatch
from inventory.history import Author
from inventory.people.models import User


class View(APIView):
    """Declare `permission_classes` and, a method, the `params` it takes; every other parameter is refused.

    In a handler: `self.query` (parameters read), `self.person` (None: the public), `self.author` (for services).
    """

    params: ClassVar[Mapping[str, Sequence[Param]]] = {}
    matched: ClassVar[Sequence[str]] = ()  # the methods that require If-Match (for the document)
    query: dict[str, Any]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """After sign-in, permission and throttle: read the parameters."""
        super().initial(request, *args, **kwargs)
        method = "GET" if request.method == "HEAD" else str(request.method)
        self.query = params.read(request._request.GET, self.params.get(method, ()))

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """Every answer names its request, as the log and the history do."""
        found = super().finalize_response(request, response, *args, **kwargs)
        found["X-Request-ID"] = requests.request_id()
        return found

    def get_parsers(self) -> list[BaseParser]:
        """A PATCH may also come as a merge patch, which is what it means."""
        more = [MergePatch()] if self.request is not None and self.request.method == "PATCH" else []
        return [*super().get_parsers(), *more]

    @property
    def person(self) -> User | None:
        """The signed-in person, None for the public."""
        return requests.person(self.request)

    @property
    def author(self) -> Author:
        """Who writes, for services."""
        return requests.author(self.request)

    @property
    def units(self) -> str:
        """`us` or `si`: the parameter, else the person's preference. For views that declare params.UNITS."""
        person = self.person
        return self.query.get("units") or (person.units if person else "si")

    def may(self, action: str) -> bool:
        """Whether who asks may do an action of the role table."""
        person = self.person
        return person is not None and person.may(action)

    def read(self, serializer: type[BaseSerializer[Any]], **options: Any) -> dict[str, Any]:
        """The body, checked. Raises ValidationError, which becomes a problem with JSON pointers."""
        found = serializer(data=self.request.data, context={"view": self, "request": self.request}, **options)
        found.is_valid(raise_exception=True)
        return dict(found.validated_data)
