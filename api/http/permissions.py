"""Who may use an address: every permission is a line of the role table in inventory/people/roles.py."""

from functools import cache
from typing import TYPE_CHECKING, ClassVar, Final

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from api.http.requests import person
from inventory.people import roles

if TYPE_CHECKING:  # the framework imports the default permission while it loads its views
    from rest_framework.views import APIView

PUBLIC: Final = "*public"
SIGNED_IN: Final = "*signed-in"
_SAME_AS_GET = ("HEAD", "OPTIONS")


class DenyAll(BasePermission):
    """The default: an address without a permission of its own answers nobody."""

    message = "this address is open to nobody"

    def has_permission(self, request: Request, view: "APIView") -> bool:
        """Never."""
        return False


class ByMethod(BasePermission):
    """Base of the classes that `may` and `may_by_method` make."""

    actions: ClassVar[dict[str, str]] = {}

    @classmethod
    def action(cls, method: str) -> str:
        """The action that a method asks for. A method that the address does not know is refused as such (405)."""
        asked = "GET" if method in _SAME_AS_GET and "GET" in cls.actions else method
        return cls.actions.get(asked, PUBLIC)

    def has_permission(self, request: Request, view: "APIView") -> bool:
        """Look the method's action up in the role table."""
        action = self.action(str(request.method))
        user = person(request)
        if action == PUBLIC:
            return True
        if user is None:
            return False
        if action == SIGNED_IN or user.may(action):
            return True
        self.message = f"your role does not include {action}"
        return False


def may(action: str) -> type[BasePermission]:
    """The permission class of one action (or PUBLIC, SIGNED_IN) for every method of a view.

    Anonymous: 401; a role without the action: 403 naming it. An unknown action fails at import (KeyError).
    """
    return may_by_method(GET=action, POST=action, PUT=action, PATCH=action, DELETE=action, OPTIONS=action, HEAD=action)


def may_by_method(**actions: str) -> type[BasePermission]:
    """The permission class of a view whose methods ask for different actions (`GET=PUBLIC, POST="..."`)."""
    return _made(tuple(sorted(actions.items())))


@cache
def _made(actions: tuple[tuple[str, str], ...]) -> type[BasePermission]:
    for _, action in actions:
        if action not in (PUBLIC, SIGNED_IN):
            roles.ALLOWED[action]  # fails early for an unknown action
    name = "May" + "".join(f"_{method}_{action}" for method, action in actions)
    return type(name, (ByMethod,), {"actions": dict(actions)})
