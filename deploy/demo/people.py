"""The people of the invented city: one a role and some more, all with one password that is never in the code."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.contrib.auth.hashers import make_password

from deploy.demo.ground import CITY
from inventory import queries
from inventory.models import Municipality
from inventory.people import roles
from inventory.people.models import Membership, Organisation, User

_TREES: Final = f"{CITY} Parks and Trees"
_WORKS: Final = f"{CITY} Public Works"
_AUDIT: Final = f"{CITY} Audit Office"
_DOMAIN: Final = f"{CITY.lower()}.example"


@dataclass(frozen=True)
class Person:
    """One demo user: the key by which the chronicle calls it, and what it is."""

    key: str
    email: str
    name: str
    role: str
    at: str
    kind: str
    qualification: str = ""


PEOPLE: Final = (
    Person("forester", f"forester@{_DOMAIN}", "Odda Marrick", roles.FORESTER, _TREES, "municipality"),
    Person(
        "inspector", f"inspector@{_DOMAIN}", "Pell Hathersby", roles.INSPECTOR, _TREES, "municipality",
        "tree risk assessment course",
    ),
    Person(
        "second_inspector", f"inspector2@{_DOMAIN}", "Ines Quarle", roles.INSPECTOR, _TREES, "municipality",
        "tree risk assessment course",
    ),
    Person("public_works", f"works@{_DOMAIN}", "Rufin Castelow", roles.PUBLIC_WORKS, _WORKS, "municipality"),
    Person("auditor", f"auditor@{_DOMAIN}", "Maudry Etteridge", roles.AUDITOR, _AUDIT, "municipality"),
    Person("larkrow", "crew@larkrow.example", "Branoc Tolve", roles.CONTRACTOR, "Larkrow Tree Works", "contractor"),
    Person("stonewell", "crew@stonewell.example", "Sela Wickmore", roles.CONTRACTOR, "Stonewell Arbor", "contractor"),
)  # fmt: skip


def settle(password: str, since: date) -> Mapping[str, User]:
    """Write organisations, users and memberships where they are missing; name the emergency contractor."""
    # One salted hash for all: they share the password, and hashing is slow by design.
    hashed = make_password(password)
    users = {person.key: _settle(person, hashed, since) for person in PEOPLE}
    city = Municipality.objects.get()
    city.emergency_contractor = Organisation.objects.get(name=_by_key("larkrow").at)
    city.duty_email = city.duty_email or _by_key("forester").email
    city.save(update_fields=["emergency_contractor", "duty_email"])
    queries.forget_municipality()
    return users


def _by_key(key: str) -> Person:
    return next(person for person in PEOPLE if person.key == key)


def _settle(person: Person, hashed: str, since: date) -> User:
    at, _ = Organisation.objects.get_or_create(name=person.at, defaults={"kind": person.kind})
    about = {"name": person.name, "password": hashed, "qualification": person.qualification}
    user, _ = User.objects.get_or_create(email=person.email, defaults=about)
    Membership.objects.get_or_create(user=user, organisation=at, role=person.role, defaults={"since": since})
    return user


def organisation_of(key: str) -> Organisation:
    """The organisation of one of the people."""
    return Organisation.objects.get(name=_by_key(key).at)
