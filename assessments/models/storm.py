"""Storms: when they were over the city and how hard they blew, for the city or by zone."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from inventory.constraints import between, filled
from inventory.history import track
from inventory.models import Zone

# m/s. Below, no tree of sound wood is known to fail (Beaufort 7 begins at 13.9 m/s mean wind); above, no gust was
# measured (113 m/s, Barrow Island 1996, WMO).
LEAST_GUST_M_S, MOST_GUST_M_S = 5.0, 115.0


@track("StormPast", "storm_past")
class Storm(models.Model):
    """A fact: the largest 3-second gust at 10 m of the city in m/s (null: unknown), with where the figure is from."""

    uid = models.UUIDField(unique=True)
    content_sha256 = models.CharField(max_length=64, editable=False)
    name = models.TextField()
    began_on = models.DateField()
    ended_on = models.DateField()
    gust_m_s = models.FloatField(null=True)
    gust_source = models.TextField(blank=True, db_default="")
    note = models.TextField(blank=True, db_default="")
    checks_asked = models.IntegerField(db_default=0)
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        db_table = "storm"
        constraints = [
            filled("storm", "content_sha256"),
            filled("storm", "name"),
            between("storm", "gust_m_s", LEAST_GUST_M_S, MOST_GUST_M_S),
            models.CheckConstraint(name="storm_dates", condition=Q(ended_on__gte=F("began_on"))),
            models.CheckConstraint(name="storm_gust_source", condition=Q(gust_m_s=None) | ~Q(gust_source="")),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.began_on}"


@track("StormGustPast", "storm_gust_past")
class StormGust(models.Model):
    """The largest 3-second gust at 10 m of one zone in a storm, in m/s."""

    storm = models.ForeignKey(Storm, on_delete=models.PROTECT, related_name="gusts")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="+")
    gust_m_s = models.FloatField()

    class Meta:
        db_table = "storm_gust"
        constraints = [
            between("storm_gust", "gust_m_s", LEAST_GUST_M_S, MOST_GUST_M_S),
            models.UniqueConstraint(fields=["storm", "zone"], name="storm_gust_once"),
        ]

    def __str__(self) -> str:
        return f"{self.gust_m_s:g} m/s in {self.zone}"
