"""Every address of the service."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/v1/", include("api.rest.urls")),
    path("health/", include("api.health")),
    path("", include("api.pages.urls")),
]

handler400 = "api.http.errors.bad_request"
handler403 = "api.http.errors.forbidden"
handler404 = "api.http.errors.not_found"
handler500 = "api.http.errors.failed"
