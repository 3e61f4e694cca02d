"""Users, organisations, and memberships that carry the role."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower, Now
from django.utils.functional import cached_property

from inventory.constraints import filled, one_of
from inventory.people import roles

ORGANISATION_KINDS = ("municipality", "contractor", "other")
UNITS = ("si", "us")


class Organisation(models.Model):
    """The municipality's department, a contractor, or another body whose people use the service."""

    name = models.TextField(unique=True)
    kind = models.TextField(choices=[(k, k) for k in ORGANISATION_KINDS])
    email = models.EmailField(blank=True, db_default="")
    phone = models.TextField(blank=True, db_default="")
    ended_on = models.DateField(null=True, blank=True)

    class Meta:
        db_table = "organisation"
        constraints = [
            one_of("organisation", "kind", ORGANISATION_KINDS),
            filled("organisation", "name"),
        ]

    def __str__(self) -> str:
        return self.name


class UserManager(BaseUserManager["User"]):
    """Makes users with a hashed password; the e-mail address is the sign-in name, without regard to case."""

    def create_user(self, email: str, name: str, password: str | None = None, **extra: Any) -> "User":
        """Create and return a user; without a password nobody can sign in as it."""
        user = self.model(email=self.normalize_email(email).lower(), name=name, **extra)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, name: str, password: str | None = None, **extra: Any) -> "User":
        """Create a user that may use the maintenance pages."""
        return self.create_user(email, name, password, is_staff=True, is_superuser=True, **extra)

    def get_by_natural_key(self, username: str | None) -> "User":
        """Find by e-mail address, without regard to case."""
        return self.get(email=(username or "").lower())


class User(AbstractBaseUser, PermissionsMixin):
    """A person with an account. What it may do follows from its memberships alone."""

    email = models.EmailField(unique=True)
    name = models.TextField()
    qualification = models.TextField(blank=True, db_default="")
    units = models.TextField(choices=[(u, u) for u in UNITS], db_default="si", default="si")
    is_active = models.BooleanField(default=True, db_default=True)
    is_staff = models.BooleanField(default=False, db_default=False)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    objects = UserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        db_table = "person"
        constraints = [
            one_of("person", "units", UNITS),
            filled("person", "name"),
            models.CheckConstraint(name="person_email_lower", condition=Q(email=Lower("email"))),
        ]

    def __str__(self) -> str:
        return self.name

    @cached_property
    def roles(self) -> frozenset[str]:
        """The roles held now (one query a request)."""
        current = self.memberships.filter(ended_on=None, organisation__ended_on=None)
        return frozenset(current.values_list("role", flat=True)) if self.is_active else frozenset()

    @cached_property
    def contractor_ids(self) -> frozenset[int]:
        """The organisations for which this person is a contractor now."""
        current = self.memberships.filter(role=roles.CONTRACTOR, ended_on=None, organisation__ended_on=None)
        return frozenset(current.values_list("organisation_id", flat=True))

    def may(self, action: str) -> bool:
        """Tell whether this person may do an action of the role table."""
        return roles.allowed(self.roles, action)


class Membership(models.Model):
    """One person, one organisation, one role, from a day to a day."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="memberships")
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="memberships")
    role = models.TextField(choices=list(roles.LABELS.items()))
    since = models.DateField()
    ended_on = models.DateField(null=True, blank=True)

    class Meta:
        db_table = "membership"
        constraints = [
            one_of("membership", "role", roles.ROLES),
            models.UniqueConstraint(
                fields=["user", "organisation", "role"],
                condition=Q(ended_on=None),
                name="membership_current",
            ),
            models.CheckConstraint(
                name="membership_dates", condition=Q(ended_on=None) | Q(ended_on__gte=models.F("since"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user}: {self.role} at {self.organisation}"
