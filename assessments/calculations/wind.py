"""The city's wind, from the policy in force: what a request that says nothing of the wind is worked with."""

from typing import Any, Final

from assessments.methods.policy import Policy

_SAID: Final = "The city's policy {version} gives {what}."


def with_city_wind(name: str, request: Any, policy: Policy) -> tuple[Any, list[str]]:
    """Fill the wind that a request leaves out, where the city has set it; what was filled, in words.

    `stem-load`: the gust to check for; `likelihood`: that, and the gust climate. What the request says wins.
    """
    if not isinstance(request, dict) or name not in ("stem-load", "likelihood"):
        return request, []
    said: list[str] = []
    filled = dict(request)
    if name == "likelihood":
        _fill_climate(filled, policy, said)
        if isinstance(filled.get("stem_load"), dict):
            filled["stem_load"] = dict(filled["stem_load"])
            _fill_gust(filled["stem_load"], policy, said)
    else:
        _fill_gust(filled, policy, said)
    return filled, said


def _fill_climate(request: dict[str, Any], policy: Policy, said: list[str]) -> None:
    if policy.gust_climate is None or request.get("gust_climate") is not None or "stem_load" not in request:
        return
    one, fifty = policy.gust_climate
    request["gust_climate"] = {"one_year_m_s": one, "fifty_year_m_s": fifty}
    what = f"the gust climate: {one:g} m/s once a year, {fifty:g} m/s once in 50 years"
    said.append(_SAID.format(version=policy.version, what=what))


def _fill_gust(request: dict[str, Any], policy: Policy, said: list[str]) -> None:
    if policy.check_gust_m_s is None or request.get("wind") is not None:
        return
    request["wind"] = {"v10_m_s": policy.check_gust_m_s, "averaging": "3s"}
    what = f"the gust to check for: {policy.check_gust_m_s:g} m/s, 3 seconds at 10 m"
    said.append(_SAID.format(version=policy.version, what=what))
